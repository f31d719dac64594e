r"""A programmable supply over SCPI: every command is followed by a look into its error queue.

    > SOUR:VOLT 24.000
    > SYST:ERR?
    < 0,"No error"                 anything else is taken out, entry by entry, until 0, and is an error

The queue gives the oldest entry first, as number and text, and 0 when it is empty (SCPI-1999, from memory).
"""

import math
from typing import Protocol

from tapewright.adapters.supplies.profile import Profile
from tapewright.app.guarded_supply import SupplyRefusedError

MOST_ENTRIES = 20
ON_WORDS, OFF_WORDS = ("1", "ON"), ("0", "OFF")


class Link(Protocol):
    """A line to an instrument."""

    #: the instrument's address
    where: str

    def write(self, line: str) -> None:
        """Send one line."""

    def ask(self, line: str) -> str:
        """Send one line and give the answer without its end."""

    def reopen(self) -> None:
        """Connect anew."""

    def close(self) -> None:
        """Let go of the line."""


class ScpiSupply:
    """A supply on a link, in the words of a profile."""

    def __init__(self, link: Link, profile: Profile) -> None:
        """Take the link, clear old entries of the error queue, ask who it is, start its watchdog if it has one.

        Raises:
            SupplyRefusedError: when it does not answer as a supply does.
        """
        self._link, self._words, self._profile = link, profile.words, profile
        if self._words["clear"]:
            link.write(self._words["clear"])
        name = link.ask(self._words["identify"]).strip() if self._words["identify"] else ""
        self.what = f"supply at {link.where}" + (f" ({name[:80]})" if name else "")
        if self._words["watchdog"]:
            self._tell("watchdog", profile.watchdog_s)

    @property
    def switches_off_alone(self) -> bool:
        """Say whether it switches off by itself when it hears nothing."""
        return bool(self._words["watchdog"])

    def set_limit(self, amps: float) -> None:
        """Set the current limit."""
        self._tell("set_limit", amps)

    def set_volts(self, volts: float) -> None:
        """Set the voltage."""
        self._tell("set_volts", volts)

    def switch(self, on: bool) -> None:
        """Switch the output."""
        self._tell("on" if on else "off")

    def is_on(self) -> bool:
        """Ask whether the output is on.

        Raises:
            SupplyRefusedError: when the answer is neither.
        """
        said = self._link.ask(self._words["is_on"]).strip().upper()
        if said not in (*ON_WORDS, *OFF_WORDS):
            raise self._odd("is_on", "0 or 1", said)
        return said in ON_WORDS

    def get_limit(self) -> float:
        """Ask for the current limit set."""
        return self._number("get_limit")

    def measure(self) -> tuple[float, float]:
        """Measure volts and amperes at the output."""
        return self._number("measure_volts"), self._number("measure_amps")

    def reopen(self) -> None:
        """Connect anew."""
        self._link.reopen()

    def close(self) -> None:
        """Let go of it."""
        self._link.close()

    def _tell(self, word: str, value: float | None = None) -> None:
        line = self._words[word]
        self._link.write(line if value is None else line.replace("{value}", f"{value:.3f}"))
        entries = self._errors()
        if entries:
            raise SupplyRefusedError(f"{self._link.where} did not take {line!r}: {'; '.join(entries)}.")

    def _errors(self) -> list[str]:
        """Take the entries out of the error queue, the oldest first."""
        if not self._words["next_error"]:
            return []
        entries: list[str] = []
        for _ in range(MOST_ENTRIES):
            said = self._link.ask(self._words["next_error"]).strip()
            number = said.partition(",")[0].strip()
            if not number.lstrip("+-").isdecimal():
                raise self._odd("next_error", 'a number and a text, as in 0,"No error"', said)
            if int(number) == 0:
                break
            entries.append(said)
        return entries

    def _number(self, word: str) -> float:
        said = self._link.ask(self._words[word]).strip()
        try:
            value = float(said)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            raise self._odd(word, "a number", said)
        return value

    def _odd(self, word: str, expected: str, said: str) -> SupplyRefusedError:
        asked = f"{self._link.where}: to {self._words[word]!r}"
        return SupplyRefusedError(f"{asked} expected {expected}; found {said[:60]!r}. Is it the right profile?")
