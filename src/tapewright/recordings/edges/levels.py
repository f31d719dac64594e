r"""What high and low are: found from the samples themselves, not told.

Picture: how often each level occurs (a histogram), and what is made of it

              low                          high
               #                             #
               #                            ###
              ###                           ###
    _________#####__.__._..__.__.__.__.____#####_____
                        low  middle  high              thresholds: middle -/+ hysteresis

The two levels are the medians of the two classes that Otsu's criterion separates (largest between-class
variance; N. Otsu, IEEE Trans. Systems, Man and Cybernetics 9 (1979) 62: from memory). The hysteresis is a
tenth of the swing or four times the noise, whichever is more, but never so much that a level could not be reached.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from tapewright.recordings.edges.blocks import Thresholds

FloatArray = npt.NDArray[np.float64]

HISTOGRAM_BINS = 1024
#: half the distance of the thresholds, as a part of the swing
HYSTERESIS, MOST_HYSTERESIS = 0.1, 0.3
#: the levels must lie this many times the noise apart, else there is no signal
LEAST_SWING_IN_NOISE = 6.0
#: whole numbers that swing by fewer steps than this are logic, in which rounding is no noise
FEWEST_STEPS = 20
#: no recorder gives such a number; it is left out like one that is not known
TOO_MUCH, TOO_LITTLE = 1e100, 1e-100


@dataclass(frozen=True, slots=True)
class Levels:
    """The two levels of one channel, in its own units.

    Attributes:
        low: the lower level.
        high: the upper level; equal to `low` when the channel never changes.
        noise: standard deviation of a sample about its level.
        near: share of the samples that lie within a sixth of the swing of one of the levels.
    """

    low: float
    high: float
    noise: float
    near: float

    @property
    def swing(self) -> float:
        """High minus low."""
        return self.high - self.low

    @property
    def two(self) -> bool:
        """Return whether there are two levels that stand out from the noise."""
        return self.swing > LEAST_SWING_IN_NOISE * self.noise

    def thresholds(self) -> Thresholds:
        """Return thresholds about the middle."""
        middle = self.low + self.swing / 2
        half = min(max(HYSTERESIS * self.swing, 4 * self.noise), MOST_HYSTERESIS * self.swing)
        return Thresholds(middle - half, middle, middle + half)


def find_levels(samples: npt.NDArray[Any]) -> Levels | None:
    """Find the two levels from some samples, shape (n,), NaN ignored; None when there are none."""
    values = samples.astype(np.float64)
    values = values[np.abs(values) < TOO_MUCH]
    if not values.size:
        return None
    split = _otsu_split(values)
    below, above = values[values <= split], values[values > split]
    if not above.size:
        return Levels(float(below.min()), float(below.min()), 0.0, 1.0)
    low, high = float(np.median(below)), float(np.median(above))
    least = _smallest_step(samples.dtype) if high - low > FEWEST_STEPS else 0.0
    noise = max(least, min(_spread(below, low), _spread(above, high)))
    near = np.minimum(np.abs(values - low), np.abs(values - high)) < (high - low) / 6
    return Levels(low, high, noise, float(near.mean()))


def _spread(values: FloatArray, centre: float) -> float:
    """Standard deviation from the median absolute deviation (factor 1.4826 for a normal distribution)."""
    return float(1.4826 * np.median(np.abs(values - centre)))


def _smallest_step(dtype: np.dtype[Any]) -> float:
    """Rounding to whole numbers has the standard deviation 1/sqrt 12 (JCGM 100:2008, 4.3.7)."""
    return 12**-0.5 if dtype.kind in "iu" and dtype.itemsize > 1 else 0.0


def _otsu_split(values: FloatArray) -> float:
    """Return the value that best splits `values` in two classes; the largest value when they are all alike."""
    lowest, highest = _inner_range(values)
    if not lowest + (highest - lowest) / HISTOGRAM_BINS > lowest or not highest - lowest > TOO_LITTLE:
        return float(highest)
    clipped = np.clip(values, lowest, highest)
    counts, bounds = np.histogram(clipped, bins=HISTOGRAM_BINS, range=(lowest, highest))
    centres = (bounds[1:] + bounds[:-1]) / 2
    weight = np.cumsum(counts)[:-1].astype(float)
    total = float(counts.sum())
    sums = np.cumsum(counts * (centres - lowest))
    mean_all = sums[-1] / total
    between = (mean_all * weight - sums[:-1]) ** 2 / np.maximum(weight * (total - weight), 1.0)
    best = np.flatnonzero(between >= between.max() * (1 - 1e-12))
    return float(bounds[1 + best[best.size // 2]])


def _inner_range(values: FloatArray) -> tuple[float, float]:
    """Leave out single spikes: all but the outermost ten samples in a million."""
    if values.size < 100_000:
        return float(values.min()), float(values.max())
    low, high = np.quantile(values, [1e-5, 1 - 1e-5])
    return (float(low), float(high)) if high > low else (float(values.min()), float(values.max()))
