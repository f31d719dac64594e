r"""Levels of a channel, and what there is in place of two clean ones.

What high and low are: found from the samples themselves, not told.

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

What a recording holds in place of two clean levels: a tone, mains hum, or nothing that stands out.

Picture:

    keyed tone   /\/\/\/\______/\/\/\______     power in one narrow band above 300 Hz: no levels to be found
    hum          ~~~\         /~~~\             two levels, each with the same slow wave upon it
                     ~~~~~~~~~     ~~~~~~

What the mere figures of a recording say against the instrument.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tapewright.recordings.capture import NumberType, Samples, Suspicion
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


def find_levels(samples: Samples) -> Levels | None:
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


def _smallest_step(dtype: NumberType) -> float:
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


#: A tone is taken for one when this share of the power lies within BAND of its frequency, above all telegraph speeds.
TONE_SHARE, BAND, LOWEST_TONE_HZ = 0.8, (0.7, 1.4), 300.0
TONE_SAMPLES = 1 << 17
#: Mains frequencies, and how large the hum, from peak to peak, is worth a word as a share of the step (owner's choice).
MAINS_HZ, WORTH_A_WORD = (50.0, 60.0), 0.1
#: the wave must explain this share of what lies about the levels, else it is something else
EXPLAINED = 0.5
MOST_SAMPLES = 1 << 18


def tone_hz(samples: Samples, rate_hz: float) -> float | None:
    """Return the frequency when `samples`, shape (n,), are a tone rather than levels; None when they are none."""
    values = samples[:TONE_SAMPLES].astype(np.float64)
    if values.size < 256 or not (np.abs(values) < TOO_MUCH).all():
        return None
    power = np.abs(np.fft.rfft(values - values.mean())) ** 2
    hz = np.arange(power.size) * rate_hz / values.size
    top = int(np.argmax(power))
    peak = float(hz[top])
    if peak < LOWEST_TONE_HZ:
        return None
    inside = (hz > BAND[0] * peak) & (hz < BAND[1] * peak)
    if power[inside].sum() < TONE_SHARE * power.sum():
        return None
    # the keying lies on both sides of the tone alike: the middle of the power about the peak
    about = power[max(0, top - 2) : top + 3]
    return float(about @ hz[max(0, top - 2) : top + 3] / about.sum())


def no_keyed_tone(hz: float) -> Suspicion:
    """Say that there is a tone which is not keyed on and off."""
    return Suspicion(
        "a tone in place of levels",
        f"nearly all of the signal lies about {hz:.0f} Hz, but it is never off: a shifted tone, not the line itself",
        "Record the line behind the tone's receiver, or the contacts themselves; only a tone that is keyed on and off "
        "is taken apart here.",
    )


def may_hum(levels: Levels) -> bool:
    """Return whether the samples spread enough about their levels for hum worth a word; a wave spreads by its size."""
    return levels.noise > 0.4 * WORTH_A_WORD * levels.swing


def mains_hum(samples: Samples, levels: Levels, interval_s: float) -> Suspicion | None:
    """Say so when a wave at mains frequency lies on both levels of `samples`, shape (n,)."""
    if interval_s <= 0:
        return None
    rate_hz = 1 / interval_s
    step = max(1, samples.size // MOST_SAMPLES)
    values = samples[::step].astype(np.float64)
    middle = levels.low + levels.swing / 2
    rest = values - np.where(values > middle, levels.high, levels.low)
    kept = np.isfinite(rest) & (np.abs(rest) < levels.swing / 3)
    if np.count_nonzero(kept) < 256 or rate_hz / step < 4 * max(MAINS_HZ):
        return None
    time, rest = np.flatnonzero(kept) * step / rate_hz, rest[kept] - rest[kept].mean()
    total = float(rest @ rest)
    for hz in MAINS_HZ:
        wave = np.exp(2j * np.pi * hz * time)
        size = 2 * abs(complex(wave @ rest)) / rest.size
        if 2 * size > WORTH_A_WORD * levels.swing and rest.size * size**2 / 2 > EXPLAINED * total:
            return Suspicion(
                "mains hum",
                f"a wave of {hz:.0f} Hz lies on the signal, {200 * size / levels.swing:.0f} % of the step from peak "
                "to peak; on slow edges it moves the instants, at some speeds by the same amount every time",
                "Find the earth loop or shield the lead, and record again before small displacements are believed.",
            )
    return None


def no_two_levels(levels: Levels) -> Suspicion | None:
    """Say so when the samples move, yet no two levels stand out of what lies about them."""
    if levels.two or levels.noise <= 0 or not levels.swing > 0:
        return None
    return Suspicion(
        "no two levels",
        f"the samples lie about {levels.low:.3g} and {levels.high:.3g}, but spread by {levels.noise:.2g} about each: "
        "noise, hum, or no telegraph signal at all",
        "Look at the recording; take away noise and hum, or say the levels with --threshold LOW,HIGH.",
    )


#: 0.1 ms is half a per cent of a 20 ms unit, the floor for any judgement of timing; common practice, no source
COARSE_S = 0.0001


def too_few_samples(interval_s: float, edges: int) -> tuple[Suspicion, ...]:
    """Say when samples lie so far apart that single instants are doubtful."""
    if not edges or interval_s <= COARSE_S * 1.000001:
        return ()
    evidence = (
        f"one every {interval_s * 1e3:.3g} ms: an edge between two of them is known to "
        f"{interval_s * 1e3 / 12**0.5:.2g} ms (standard uncertainty)"
    )
    do = "Record at 50 000 samples a second or more; until then trust means over many characters only."
    return (Suspicion("too low a sample rate", evidence, do),)
