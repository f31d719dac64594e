"""What a plot is drawn from: for each column its time, and the least and the greatest value at it."""

from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
#: A plot is at most so many columns wide, whatever it asks for.
MOST_COLUMNS = 8192


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """A stretch of a trace.

    Attributes:
        times_s: shape (n,), not decreasing.
        low: shape (n,), the least value at each time; NaN where nothing is known.
        high: shape (n,), the greatest.
        each: True when every point is one sample or one edge, so that a line through them is the recording itself.
    """

    times_s: FloatArray
    low: npt.NDArray[Any]
    high: npt.NDArray[Any]
    each: bool


class Trace(Protocol):
    """A recording that can be drawn."""

    @property
    def begin_s(self) -> float:
        """When it begins."""

    @property
    def end_s(self) -> float:
        """When it ends."""

    def window(self, from_s: float, to_s: float, columns: int) -> Window:
        """Return a stretch of it in about so many columns, with one point beyond either end where there is one."""

    def close(self) -> None:
        """Let go of what it holds on disk."""
