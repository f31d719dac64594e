r"""Where the slope of a noisy current jumps upwards: the mark of a landing.

Picture: two straight lines of w samples, one before and one after each sample; their slopes differ at a kink.

        \  before        after  /
          \                   /
            \______ . ______/

An exponential rise bends downwards everywhere, so without a landing the difference is never positive beyond
what the noise makes. The difference is given in units of its own standard deviation, known from the noise.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.coil.coil_recording import FloatArray

WINDOWS = (4, 6, 9, 13, 19, 28)
#: in units of standard deviation: at most once in a million samples by noise alone
SURE, POSSIBLE = 6.0, 4.5


@dataclass(frozen=True, slots=True)
class Kink:
    """A jump of the slope.

    Attributes:
        index: sample number.
        strength: in units of its standard deviation.
        window: samples used on each side.
    """

    index: int
    strength: float
    window: int


def slope_jumps(samples: FloatArray, noise: float, window: int, coarse: float = 0.0) -> FloatArray:
    """Return slope after minus slope before each sample over its standard deviation, shape (n,), 0 near the ends.

    What an error of at most `coarse`, of whatever shape, can pretend is taken off first: a staircase is no kink.
    """
    out = np.zeros(samples.size)
    if samples.size < 2 * window + 1:
        return out
    places = np.arange(window) - (window - 1) / 2
    weights = places / (places**2).sum()
    slopes = np.convolve(samples, weights[::-1], mode="valid")
    jumps = slopes[window - 1 :] - slopes[: slopes.size - window + 1]
    sigma = noise * np.sqrt(2 / (places**2).sum())
    pretended = 2 * coarse * np.abs(places).sum() / (places**2).sum()
    beyond = np.sign(jumps) * np.maximum(np.abs(jumps) - pretended, 0.0)
    out[window - 1 : window - 1 + jumps.size] = beyond / sigma
    return out


def strongest(samples: FloatArray, noise: float, skip: int, coarse: float = 0.0) -> Kink | None:
    """Return the strongest upward jump after `skip` samples (plus the window, so the closing itself stays outside)."""
    best: Kink | None = None
    for window in WINDOWS:
        jumps = slope_jumps(samples, noise, window, coarse)
        jumps[: skip + window + 1] = 0.0
        index = int(jumps.argmax())
        if jumps[index] > 0 and (best is None or jumps[index] > best.strength):
            best = Kink(index, float(jumps[index]), window)
    return best


def all_kinks(
    samples: FloatArray, noise: float, skip: int, coarse: float = 0.0, threshold: float = SURE
) -> list[Kink]:
    """Return every upward jump beyond the threshold, the strongest of each neighbourhood, in time order."""
    found: list[Kink] = []
    for window in WINDOWS:
        jumps = slope_jumps(samples, noise, window, coarse)
        jumps[: skip + window + 1] = 0.0
        while (index := int(jumps.argmax())) >= 0 and jumps[index] > threshold:
            found.append(Kink(index, float(jumps[index]), window))
            jumps[max(0, index - 2 * window) : index + 2 * window] = 0.0
    kept: list[Kink] = []
    for kink in sorted(found, key=lambda k: -k.strength):
        if all(abs(kink.index - other.index) > 1.5 * max(kink.window, other.window) for other in kept):
            kept.append(kink)
    # a wide window sees a jump best, a narrow one sees best where it is
    sharp = [min((k for k in found if _same(k, kink)), key=lambda k: k.window) for kink in kept]
    return sorted(sharp, key=lambda k: k.index)


def _same(one: Kink, kink: Kink) -> bool:
    return abs(one.index - kink.index) <= 1.5 * kink.window
