"""No instrument: a person sets the voltage."""

from collections.abc import Callable

from tapewright.motor.guarded_supply import Ceiling


class SupplyByHand:
    """Says which voltage to set, never one above the ceiling, and waits until it is set."""

    what = "a supply set by hand"

    def __init__(self, ceiling: Ceiling, ask: Callable[[str], object]) -> None:
        """Take what asks the person and waits for an answer."""
        self._ceiling, self._ask = ceiling, ask
        self.ceiling_v = ceiling.volts

    def set_volts(self, volts: float) -> None:
        """Have it set."""
        self._ceiling.check(volts)
        self._ask(f"Set the supply to {volts:.2f} V by hand and let the speed settle. Enter when done")
