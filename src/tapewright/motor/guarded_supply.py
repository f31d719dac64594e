r"""A supply behind its ceiling: the only way to a motor. Whatever happens, its output goes off.

    begin   output off > current limit set and read back > 0 V
    set     ceiling checked here and nowhere else > voltage set > read back, checked again > current looked at
    end     output off, asked back; tried again, over a new connection if need be; if it will not, said loudly

The end comes on leaving the block: done, stopped, refused, an exception, a lost connection, a signal.
"""

import contextlib
from collections.abc import Callable
from dataclasses import dataclass
from types import TracebackType
from typing import Protocol, runtime_checkable

from tapewright.errors import TapewrightError

#: a supply reads back what it was set to within this (common practice, no source)
READ_BACK_SHARE, READ_BACK_V = 0.01, 0.05
#: a supply that gives less than this share of its voltage is in its current limit
IN_LIMIT_SHARE = 0.95
OFF_TRIES = 3
SETTLES_S = 8.0
GOES_OFF = "The output goes off."
SWITCH_IT_OFF = "THE SUPPLY MAY STILL BE ON. Switch it off at its own switch now."


class Supply(Protocol):
    """A programmable supply."""

    #: what it is
    what: str

    def set_limit(self, amps: float) -> None:
        """Set the current limit."""

    def set_volts(self, volts: float) -> None:
        """Set the voltage."""

    def switch(self, on: bool) -> None:
        """Switch the output."""

    def is_on(self) -> bool:
        """Ask whether the output is on."""

    def get_limit(self) -> float:
        """Ask for the current limit set."""

    def measure(self) -> tuple[float, float]:
        """Measure volts and amperes at the output."""

    def reopen(self) -> None:
        """Connect anew."""

    def close(self) -> None:
        """Let go of it."""


@runtime_checkable
class KeptSupply(Protocol):
    """A supply that a process of its own keeps, which goes on switching off when this one cannot."""

    def make_off(self, say: Callable[[str], None]) -> bool:
        """Switch off and read it back, however long that takes; return whether it is off."""


class SupplyRefusedError(TapewrightError):
    """The supply did not do what it was told, or was asked for more than its ceiling."""


@dataclass(frozen=True, slots=True)
class Ceiling:
    """What the user allows, volts and amperes."""

    volts: float
    amps: float

    def check(self, volts: float, amps: float = 0.0, *, read_back: bool = False) -> None:
        """Refuse anything above the ceiling; what is read back may differ by the supply's own doubt.

        Raises:
            SupplyRefusedError: when it is above.
        """
        most_v = self.volts + (max(READ_BACK_V, READ_BACK_SHARE * self.volts) if read_back else 0.0)
        most_a = self.amps * (1 + READ_BACK_SHARE if read_back else 1)
        verb = "the supply gives" if read_back else "asked for"
        if not 0 <= volts <= most_v and not (read_back and volts < 0):
            raise SupplyRefusedError(f"{verb} {volts:g} V; your ceiling is {self.volts:g} V. {GOES_OFF}")
        if not amps <= most_a:
            raise SupplyRefusedError(f"{verb} {amps:g} A; your ceiling is {self.amps:g} A. {GOES_OFF}")


class GuardedSupply:
    """Use it with `with`; outside the block the output is off."""

    def __init__(
        self, supply: Supply, ceiling: Ceiling, wait: Callable[[float], None], say: Callable[[str], None]
    ) -> None:
        """Take a supply; nothing is switched on yet."""
        self._supply, self._ceiling, self._wait, self._say = supply, ceiling, wait, say
        self._on, self.is_off = False, False
        self.ceiling_v = ceiling.volts
        self.what = supply.what

    def __enter__(self) -> "GuardedSupply":
        """Switch off, set the current limit, set 0 V."""
        try:
            self._supply.switch(False)
            self._supply.set_volts(0.0)
            self._supply.set_limit(self._ceiling.amps)
            self._ceiling.check(0.0, self._supply.get_limit(), read_back=True)
        except BaseException:
            self.off()
            self._supply.close()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Switch off, whatever happened."""
        try:
            self.off()
        finally:
            self._supply.close()

    def set_volts(self, volts: float) -> None:
        """Set a voltage at or below the ceiling, switch on at the first one, let the motor settle.

        Raises:
            SupplyRefusedError: above the ceiling, asked or read back.
        """
        self._ceiling.check(volts)
        self._supply.set_volts(volts)
        if not self._on:
            self._on, self.is_off = True, False
            self._supply.switch(True)
        self._ceiling.check(*self._supply.measure(), read_back=True)
        self._wait(SETTLES_S)
        if self.measure()[0] < IN_LIMIT_SHARE * volts:
            self._say("The supply is in its current limit: the motor is stalled or heavy, or the limit is too low.")

    def measure(self) -> tuple[float, float]:
        """Return volts and amperes, checked against the ceiling."""
        seen = self._supply.measure()
        self._ceiling.check(*seen, read_back=True)
        return seen

    def off(self) -> bool:
        """Switch off and make sure; say so loudly when that fails. Give whether it is off."""
        self._on = False
        if isinstance(self._supply, KeptSupply):
            self.is_off = self._supply.make_off(self._tell)
            if not self.is_off:
                self._tell(SWITCH_IT_OFF)
            return self.is_off
        for attempt in range(OFF_TRIES):
            try:
                if attempt:
                    self._supply.reopen()
                self._supply.switch(False)
                self.is_off = not self._supply.is_on()
                if self.is_off:
                    return True
            except BaseException as reason:  # a second Ctrl-C must not leave it on
                self._tell(f"Switching off did not work yet: {str(reason) or type(reason).__name__}.")
        self._tell(SWITCH_IT_OFF)
        return False

    def _tell(self, words: str) -> None:
        """Say something on the way to off; a terminal that has gone must not keep it from going off."""
        with contextlib.suppress(BaseException):
            self._say(words)
