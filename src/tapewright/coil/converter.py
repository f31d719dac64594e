r"""The steps of the converter that recorded a current, and how much they can pretend.

    analogue noise small against a step      a staircase: an error of up to half a step, the same for a whole tread
    analogue noise of half a step or more    dither: an even error of step / sqrt(12), free of the signal

With Gaussian noise of sigma before the converter, what is left of the staircase in the mean shrinks as
exp(-2 pi^2 sigma^2 / step^2) (the characteristic function of the noise at the staircase's first harmonic; Widrow's
theory of quantisation, any textbook). So an error of at most `coarse` that may have any shape, and the rest as noise.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

#: factor from median absolute deviation to standard deviation of a normal distribution
MAD_TO_SIGMA = 1.4826
#: so many samples show which levels a converter has
MOST_LOOKED_AT = 200_000
#: more levels than this share of the samples: no steps to be seen
MOST_LEVELS = 0.25
#: distances between levels that are whole steps, of all; and how near to whole
MOST_WHOLE, NEAR_WHOLE = 0.97, 0.1
#: the noise is taken this much smaller than it looks, since it is known from few steps up and down
CAUTIOUS = 0.8


@dataclass(frozen=True, slots=True)
class Noise:
    """How a sample may differ from the current.

    Attributes:
        sigma: standard deviation of one sample, all taken together.
        white: the part of it that is not alike from sample to sample.
        coarse: an error of at most this may have any shape: the converter's staircase.
        step: of the converter; 0 when none is to be seen.
    """

    sigma: float
    white: float
    coarse: float
    step: float


def noise_of(samples: FloatArray) -> Noise:
    """Return the noise of some samples, shape (n,), from second differences, which a smooth current does not touch."""
    step = converter_step(samples)
    second = np.diff(samples, 2)
    seen = float(MAD_TO_SIGMA * np.median(np.abs(second - np.median(second))) / np.sqrt(6))
    if step == 0 or seen > 1.5 * step:
        return Noise(seen, seen, 0.0, step)
    # a median of whole steps is nought or one: the mean square of the small ones tells more
    total = float(np.sqrt(np.mean(np.clip(second, -4 * step, 4 * step) ** 2) / 6))
    analogue = float(np.sqrt(max(total**2 - step**2 / 12, 0.0)))
    coarse = step / 2 * float(np.exp(-2 * (np.pi * CAUTIOUS * analogue / step) ** 2))
    white = float(np.hypot(analogue, step / np.sqrt(12) * (1 - 2 * coarse / step)))
    return Noise(float(np.hypot(white, coarse / np.sqrt(3))), white, coarse, step)


def converter_step(samples: FloatArray) -> float:
    """Return the distance of neighbouring levels of the converter; 0 where the samples show none."""
    some = samples[:: max(1, samples.size // MOST_LOOKED_AT)]
    # numbers written with a few digits differ by rounding alone
    levels = np.unique(some)
    span = float(levels[-1] - levels[0])
    apart = np.diff(levels)
    apart = apart[apart > 1e-6 * span]
    if apart.size < 2 or levels.size > MOST_LEVELS * some.size:
        return 0.0
    step = float(np.median(apart[apart < 1.5 * np.quantile(apart, 0.05)]))
    for _ in range(3):
        whole = np.round(apart / step)
        few = (whole > 0) & (whole < 50)
        if not few.any():
            return 0.0
        step = float((apart[few] * whole[few]).sum() / (whole[few] ** 2).sum())
    off = np.abs(apart / step - np.round(apart / step))
    return step if np.mean(off < NEAR_WHOLE) > MOST_WHOLE else 0.0
