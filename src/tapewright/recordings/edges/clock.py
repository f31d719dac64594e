"""From the number of a sample to seconds: by the sample rate, or by the time written beside each sample.

The smallest step of printed times, seen from the times themselves.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


class Clock(Protocol):
    """Something that knows when a sample was taken."""

    def seconds(self, at: FloatArray) -> FloatArray:
        """Return the time of sample numbers, shape (n,); fractions lie between two samples."""

    def intervals_s(self, at: FloatArray) -> FloatArray:
        """Return the interval between the two samples about each, in seconds."""


@dataclass(frozen=True, slots=True)
class RegularClock:
    """Sample k was taken at begin_s + k interval_s."""

    interval_s: float
    begin_s: float = 0.0

    def seconds(self, at: FloatArray) -> FloatArray:
        """Return the time of sample numbers."""
        return self.begin_s + at * self.interval_s

    def intervals_s(self, at: FloatArray) -> FloatArray:
        """Return the one interval, once for each."""
        return np.full(at.shape, self.interval_s)


@dataclass(frozen=True, slots=True, eq=False)
class KnottedClock:
    """Samples at known times at some places (the knots), regular between them.

    Attributes:
        samples: shape (k,), sample numbers of the knots, increasing, k at least 2.
        times_s: shape (k,), their times.
    """

    samples: FloatArray
    times_s: FloatArray

    def seconds(self, at: FloatArray) -> FloatArray:
        """Return the time of sample numbers, along the straight line between the two knots about each."""
        return np.interp(at, self.samples, self.times_s)

    def intervals_s(self, at: FloatArray) -> FloatArray:
        """Return the slope of that line."""
        after = np.clip(np.searchsorted(self.samples, at, side="left"), 1, self.samples.size - 1)
        rise = self.times_s[after] - self.times_s[after - 1]
        return np.abs(rise / (self.samples[after] - self.samples[after - 1]))


def decimal_quantum(times: npt.NDArray[np.float64]) -> float:
    """Return the power of ten that all of `times`, shape (n,), are whole multiples of; 0 when there is none.

    Times computed in binary floating point and not printed have none.
    """
    finite = times[np.isfinite(times)]
    some = np.abs(finite[:: max(1, finite.size // 500)])
    if not some.size or not some.max() > 0:
        return 0.0
    for digits in range(0, 13):
        scaled = some * 10.0**digits
        if scaled.max() > 2.0**52:
            break
        if (np.abs(scaled - np.round(scaled)) <= 1e-9 * np.maximum(1.0, scaled)).all():
            return float(10.0**-digits)
    return 0.0
