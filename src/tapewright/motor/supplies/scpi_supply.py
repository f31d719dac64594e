r"""A programmable supply over SCPI: every command is followed by a look into its error queue.

    > SOUR:VOLT 24.000
    > SYST:ERR?
    < 0,"No error"                 anything else is taken out, entry by entry, until 0, and is an error

The queue gives the oldest entry first, as number and text, and 0 when it is empty (SCPI-1999, from memory).

An answer that is late would be taken for that to the next question. So after one that did not come, nothing it says is
believed until it is connected anew; what it is told is sent all the same, for OFF must not wait.
"""

import math
from typing import Protocol

from tapewright.motor.guarded_supply import SupplyRefusedError
from tapewright.motor.supplies.profile import Profile

#: entries taken out of an error queue at most, and how many of them are told; how long an answer is quoted
MOST_ENTRIES, TOLD, QUOTED = 64, 3, 60
ON_WORDS, OFF_WORDS = ("1", "+1", "ON"), ("0", "+0", "OFF")
#: from here on a number stands for infinity or for none (SCPI-1999, 7.2.1.4 and 7.2.1.5, from memory)
NO_NUMBER = 9.9e37
#: units that an answer may end with, though SCPI gives none -> what one is in volts or amperes
UNITS = {"measure_volts": {"V": 1.0, "MV": 1e-3}, "measure_amps": {"A": 1.0, "MA": 1e-3}}
UNITS["get_limit"] = UNITS["measure_amps"]
ANEW = "It is connected anew."


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
        self._out_of_step = False
        try:
            self.what = f"supply at {link.where}{self._greet()}"
        except BaseException:
            link.close()
            raise

    def _greet(self) -> str:
        """Clear what is old, start the watchdog; give its name in brackets, empty when it tells none."""
        if self._words["clear"]:
            self._link.write(self._words["clear"])
        name = self._ask("identify") if self._words["identify"] else ""
        self._errors()  # what it says of others before us is no answer to us
        if self._words["watchdog"]:
            self._tell("watchdog", self._profile.watchdog_s)
        return f" ({name[:80]})" if name else ""

    @property
    def switches_off_alone(self) -> bool:
        """Return whether it switches off by itself when it hears nothing."""
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
        said = self._ask("is_on").upper()
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
        """Connect anew: an answer that is still to come is gone with the old connection."""
        self._link.reopen()
        self._out_of_step = False

    def close(self) -> None:
        """Let go of it."""
        self._link.close()

    def _tell(self, word: str, value: float | None = None) -> None:
        line = self._words[word]
        self._link.write(line if value is None else line.replace("{value}", f"{value:.3f}"))
        entries = self._errors()
        if entries:
            more = f" and {len(entries) - TOLD} more" if len(entries) > TOLD else ""
            told = "; ".join(entry[:QUOTED] for entry in entries[:TOLD])
            raise SupplyRefusedError(f"{self._link.where} did not take {line!r}: {told}{more}.")

    def _errors(self) -> list[str]:
        """Take the entries out of the error queue, the oldest first."""
        if not self._words["next_error"]:
            return []
        entries: list[str] = []
        for _ in range(MOST_ENTRIES):
            said = self._ask("next_error")
            number = said.partition(",")[0].strip()
            if not number.lstrip("+-").isdecimal():
                raise self._odd("next_error", 'a number and a text, as in 0,"No error"', said)
            if int(number) == 0:
                break
            entries.append(said)
        return entries

    def _number(self, word: str) -> float:
        said = self._ask(word)
        digits = said.upper().rstrip("AMV ") if said else ""
        unit = said[len(digits) :].strip().upper()
        try:
            value = float(digits) * (UNITS[word][unit] if unit else 1.0)
        except (ValueError, KeyError):
            value = math.nan
        if not abs(value) < NO_NUMBER:
            raise self._odd(word, "a number", said)
        return value

    def _ask(self, word: str) -> str:
        """Ask, and remember when no answer came: the next one may be that to this question."""
        if self._out_of_step:
            raise SupplyRefusedError(
                f"{self._link.where} left a question without an answer: what it says now may belong to that. {ANEW}"
            )
        try:
            return self._link.ask(self._words[word]).strip()
        except BaseException:
            self._out_of_step = True
            raise

    def _odd(self, word: str, expected: str, said: str) -> SupplyRefusedError:
        self._out_of_step = True
        asked = f"{self._link.where}: to {self._words[word]!r}"
        return SupplyRefusedError(f"{asked} expected {expected}; found {said[:QUOTED]!r}. Is it the right profile?")
