"""A horizontal axis: where a value stands, and round ticks, zero always among them where it is inside."""

import math
from dataclasses import dataclass

#: steps that are easily read off
ROUND = (1.0, 2.0, 5.0)
DECIMALS = 3


@dataclass(frozen=True, slots=True)
class Axis:
    """From `low` on the left to `high` on the right."""

    low: float
    high: float

    def place(self, value: float) -> float:
        """Return where a value stands, per cent of the width; what lies outside stands at the end."""
        share = (value - self.low) / (self.high - self.low)
        return round(100 * min(max(share, 0.0), 1.0), DECIMALS)

    def ticks(self, about: int = 6) -> list[dict[str, object]]:
        """Return round values with their places."""
        step = round_step((self.high - self.low) / about)
        first, last = math.ceil(self.low / step - 1e-9), math.floor(self.high / step + 1e-9)
        digits = max(0, -math.floor(math.log10(step) + 1e-9))
        return [
            {"at": self.place(i * step), "says": f"{i * step:.{digits}f}" if i else "0", "zero": i == 0}
            for i in range(first, last + 1)
        ]


def round_step(about: float) -> float:
    """Return the round number (1, 2 or 5 times a power of ten) at or above a number above zero."""
    power = 10.0 ** math.floor(math.log10(about))
    return float(next((each * power for each in ROUND if each * power >= about * (1 - 1e-9)), 10 * power))
