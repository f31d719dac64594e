r"""A recorded coil current made ready: which level is rest, how noisy it is, where the switch closed and opened.

Picture (rest and current are the two levels the recording dwells on; the dip is the armature landing):

    current   ...........  ___------      ___------
                          /\/            /\/         |
    rest      ___________/         |____/            |_______
                         on        off  on           off

The recording may sit on an offset and may be upside down: rest is the level nearer to zero. A recording that goes
well past its rest on the other side, or sinks while the current is on, was taken through a capacitor: from that
neither resistance nor inductance nor a landing can be told.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

#: factor from median absolute deviation to standard deviation of a normal distribution
MAD_TO_SIGMA = 1.4826
ON_ABOVE, OFF_BELOW = 0.45, 0.12
BINS = 200
#: share of the range by which a directly coupled recording may go past its rest
MOST_BEYOND_REST = 0.12
#: sinking during one closing that is taken for AC coupling, as a share of the current
MOST_SINKING = 0.01
#: running means of this many samples are looked at for AC coupling, and must stand out by this many of their sigmas
MEAN_WIDTH, NOISE_SIGMAS = 25, 7.0
LEAST_SAMPLES = 60
#: samples of rest before the closings that make a rest of their own
LEAST_QUIET = 8
#: a closing needs at least this many samples
LEAST_CLOSING = 25
#: the levels must be this many times the noise apart
LEAST_SIGNAL = 12.0


@dataclass(frozen=True, slots=True)
class Closing:
    """Sample numbers of one closing of the switch.

    Attributes:
        begin: a sample well before the switch closed (current at rest).
        rise: first sample clearly above rest.
        off: last sample before the switch opened.
        end: last sample before the next closing, or the last of the recording.
    """

    begin: int
    rise: int
    off: int
    end: int


@dataclass(frozen=True, slots=True, eq=False)
class Prepared:
    """A recording ready to be read.

    Attributes:
        current_a: shape (n,), rest at zero, current upwards.
        rate_hz: sample rate.
        noise_a: standard deviation of one sample.
        noise_scale: by how much slow noise exceeds what white noise of that size would give (1 for white).
        level_a: the level it dwells on with current.
        rest_u_a: standard uncertainty of the rest that was taken off.
        closings: the closings found.
        inverted: it was upside down.
        offset_a: what the rest was.
        doubts: why the recording cannot be trusted; empty when it can.
    """

    current_a: FloatArray
    rate_hz: float
    noise_a: float
    noise_scale: float
    level_a: float
    rest_u_a: float
    closings: tuple[Closing, ...]
    inverted: bool
    offset_a: float
    doubts: tuple[str, ...]


def prepare(samples_a: FloatArray, rate_hz: float) -> Prepared:
    """Make a recording ready.

    Args:
        samples_a: shape (n,), finite samples in ampere, any offset, either polarity.
        rate_hz: sample rate.
    """
    samples = np.asarray(samples_a, dtype=np.float64)
    if samples.size < LEAST_SAMPLES:
        return _nothing(samples, rate_hz, f"only {samples.size} samples: at least {LEAST_SAMPLES} are needed")
    span = float(np.ptp(samples))
    noise = _noise(samples)
    if span <= LEAST_SIGNAL * noise or span == 0:
        return _nothing(samples, rate_hz, "no closing stands out of the noise")
    low, high = _levels(samples)
    inverted = abs(high) < abs(low)
    upright, rest = (-samples, -high) if inverted else (samples, low)
    rest, rest_u = _rest(upright, rest, noise, span)
    current = upright - rest
    level = abs(high - low)
    closings = _closings(current, level, noise)
    correction, rest_u = _rest_before(current, closings, noise, rest_u)
    current, rest = current - correction, rest + correction
    doubts = _doubts(current, level, noise, closings)
    scale = _slow_noise(current, noise, closings)
    return Prepared(current, rate_hz, noise, scale, level, rest_u, closings, inverted, rest, doubts)


def _nothing(samples: FloatArray, rate_hz: float, why: str) -> Prepared:
    return Prepared(samples, rate_hz, 0.0, 1.0, 0.0, 0.0, (), False, 0.0, (why,))


def _noise(samples: FloatArray) -> float:
    """Noise of one sample from second differences, which a smooth current does not touch."""
    second = np.diff(samples, 2)
    return float(MAD_TO_SIGMA * np.median(np.abs(second - np.median(second))) / np.sqrt(6))


def _smooth(samples: FloatArray, width: int = 5) -> FloatArray:
    if samples.size < width:
        return samples
    padded = np.pad(samples, width // 2, mode="edge")
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(padded, width), axis=1))


def _levels(samples: FloatArray) -> tuple[float, float]:
    """Return the two levels the recording dwells on: the fullest bin of the lower and of the upper half."""
    counts, edges = np.histogram(_smooth(samples), BINS)
    middles = (edges[1:] + edges[:-1]) / 2
    half = BINS // 2
    return float(middles[counts[:half].argmax()]), float(middles[half + counts[half:].argmax()])


def _rest(samples: FloatArray, near: float, noise: float, span: float) -> tuple[float, float]:
    close = samples[np.abs(samples - near) < max(4 * noise, span / BINS)]
    if not close.size:
        return near, noise
    rest = float(np.mean(close))
    close = samples[np.abs(samples - rest) < max(4 * noise, 1e-3 * span)]
    return (float(np.mean(close)), noise / np.sqrt(close.size)) if close.size else (rest, noise)


def _rest_before(
    current: FloatArray, closings: tuple[Closing, ...], noise: float, u: float
) -> tuple[float, float]:
    """Return the rest as it is just before the closings, where no dying current is left, and its doubt."""
    quiet = [
        current[max(closing.begin, closing.rise - (closing.rise - closing.begin) // 2) : max(closing.rise - 2, 0)]
        for closing in closings
    ]
    samples = np.concatenate(quiet) if quiet else np.empty(0)
    if samples.size < LEAST_QUIET:
        return 0.0, max(u, noise)
    return float(samples.mean()), float(noise / np.sqrt(samples.size))


def _closings(current: FloatArray, level: float, noise: float) -> tuple[Closing, ...]:
    smooth = _smooth(current)
    found: list[tuple[int, int, int]] = []
    on, crossed = False, 0
    above, below = smooth > ON_ABOVE * level, smooth < OFF_BELOW * level
    for index in np.flatnonzero(np.diff(above.astype(int)) | np.diff(below.astype(int))) + 1:
        if not on and above[index]:
            on, crossed = True, int(index)
        elif on and below[index]:
            on = False
            found.append((_rise(current, crossed, level, noise), crossed, int(index)))
    if on:
        found.append((_rise(current, crossed, level, noise), crossed, current.size))
    closings = []
    for number, (rise, crossed, below_at) in enumerate(found):
        begin = found[number - 1][2] if number else 0
        end = found[number + 1][0] - 1 if number + 1 < len(found) else current.size - 1
        off = _last_on(current, crossed, below_at)
        if off - rise >= LEAST_CLOSING and rise - begin >= 2:
            closings.append(Closing(begin, rise, off, end))
    return tuple(closings)


def _rise(current: FloatArray, crossed: int, level: float, noise: float) -> int:
    """Return the first sample of the rise: the one after the last that lies within the noise of rest."""
    quiet = np.flatnonzero(current[:crossed] < max(2.5 * noise, 0.003 * level))
    return int(quiet[-1]) + 1 if quiet.size else 0


def _last_on(current: FloatArray, crossed: int, below_at: int) -> int:
    """Return the last sample before the switch opened: the straight fall from 93 to 75 %, drawn back to the top."""
    tail = _smooth(current[crossed : below_at + 1])
    top = float(np.quantile(tail, 0.9))
    if tail[-1] > 0.75 * top:
        return int(min(below_at, current.size - 1))
    high, low = np.flatnonzero(tail > 0.93 * top), np.flatnonzero(tail > 0.75 * top)
    if not high.size or not low.size:
        return max(crossed, below_at - 2)
    back = (int(low[-1]) - int(high[-1])) * 7 / 18
    return max(crossed, crossed + int(high[-1] - back) - 2)


def _doubts(current: FloatArray, level: float, noise: float, closings: tuple[Closing, ...]) -> tuple[str, ...]:
    smooth = _smooth(current, 9)
    beyond = -float(smooth.min())
    if beyond > MOST_BEYOND_REST * max(float(smooth.max()), level):
        past = f"the current goes {beyond / level * 100:.0f} % past its rest"
        return (f"{past}: AC coupling, or the supply was reversed",)
    if not closings:
        return ("no closing of the switch was found",)
    under, sinking = [], []
    for closing in closings:
        under.append(-_lowest_mean(current[closing.off + 1 : closing.end + 1]))
        sinking.append(_sinking(current[closing.rise : closing.off + 1]))
    resolution = NOISE_SIGMAS * noise / np.sqrt(MEAN_WIDTH)
    if float(np.median(under)) > max(resolution, MOST_SINKING * level):
        return ("after opening the current lies below its rest and creeps back: AC coupling",)
    if float(np.median(sinking)) > max(resolution, MOST_SINKING * level):
        return ("the current sinks while the switch is closed: AC coupling, or a supply that gives way",)
    return ()


def _lowest_mean(piece: FloatArray) -> float:
    """Return the lowest running mean of a piece; 0 when it is too short to tell."""
    if piece.size < MEAN_WIDTH:
        return 0.0
    sums = np.convolve(piece, np.ones(MEAN_WIDTH) / MEAN_WIDTH, mode="valid")
    return float(sums.min())


def _sinking(piece: FloatArray) -> float:
    """Return by how much the last third falls, from its straight line."""
    last = piece[piece.size * 2 // 3 :]
    if last.size < 8:
        return 0.0
    slope = np.polyfit(np.arange(last.size), last, 1)[0]
    return float(-slope * last.size)


def _slow_noise(current: FloatArray, noise: float, closings: tuple[Closing, ...], width: int = 9) -> float:
    """Compare the scatter of running means at rest with what white noise would give."""
    if noise == 0 or not closings:
        return 1.0
    ratios = []
    for closing in closings:
        piece = current[closing.begin + (closing.rise - closing.begin) // 2 : max(closing.rise - 3, 0)]
        blocks = piece[: piece.size // width * width].reshape(-1, width).mean(axis=1)
        if blocks.size >= 4:
            ratios.append(float(blocks.std(ddof=1)) * np.sqrt(width) / noise)
    return max(1.0, float(np.median(ratios))) if ratios else 1.0
