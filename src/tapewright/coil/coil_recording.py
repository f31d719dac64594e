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

from tapewright.coil.converter import noise_of

FloatArray = npt.NDArray[np.float64]

ON_ABOVE, OFF_BELOW = 0.45, 0.12
BINS = 200
#: share of the range by which a directly coupled recording may go past its rest
MOST_BEYOND_REST = 0.12
#: sinking during one closing that is taken for AC coupling, as a share of the current
MOST_SINKING = 0.01
#: so much below rest before a rise makes it a swing of a ringing coil; so much of the swing may a held current sink
RINGS_BELOW, RINGING_SINKS = 0.08, 0.1
#: a swing below rest is over within so many times the time from the opening to its lowest
SWINGS_BACK = 3
#: a coil that rings on opening does not go above its steady current by more than this
RINGS_ABOVE = 0.03
#: so many jumps tell a line signal from a current
LEAST_JUMPS = 3
#: what a current still rises in one time constant when it meets the end of the range, as a share of it; an exponential
#: that reaches its level has next to nothing left
CLIPPED_SLOPE = 0.2
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
        white_a: the part of it that differs from sample to sample.
        coarse_a: an error of at most this may have any shape: the converter's staircase.
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
    white_a: float
    coarse_a: float
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
    found = noise_of(samples)
    noise = found.sigma
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
    return Prepared(
        current, rate_hz, noise, found.white, found.coarse, scale, level, float(np.hypot(rest_u, found.coarse / 2)),
        closings, inverted, rest, doubts,
    )  # fmt: skip


def _nothing(samples: FloatArray, rate_hz: float, why: str) -> Prepared:
    return Prepared(samples, rate_hz, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, (), False, 0.0, (why,))


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
    found = [one for one in found if not _rings_up(smooth, *one[:2], level)]
    closings = []
    for number, (rise, crossed, below_at) in enumerate(found):
        begin = found[number - 1][2] if number else 0
        end = found[number + 1][0] - 1 if number + 1 < len(found) else current.size - 1
        off = _last_on(current, crossed, below_at)
        if off - rise >= LEAST_CLOSING and rise - begin >= 2:
            closings.append(Closing(begin, rise, off, end))
    return tuple(closings)


def _rings_up(smooth: FloatArray, rise: int, crossed: int, level: float) -> bool:
    """Return whether a rise is a swing of a coil that rings with its capacitor: it comes straight from below rest."""
    before = smooth[max(0, rise - 2 * (crossed - rise) - 2) : crossed]
    return bool(before.size and before.min() < -RINGS_BELOW * level)


def _swings_back(dying: FloatArray, level: float) -> bool:
    """Return whether a current that went below rest is back about as soon as it went there, as a ringing one is.

    Through a capacitor in the instrument it goes there at once and creeps back.
    """
    lowest = int(dying.argmin())
    if dying[lowest] > -RINGS_BELOW * level:
        return True
    after = np.flatnonzero(dying[lowest:] > -RINGS_BELOW / 2 * level)
    # and it goes there without a rest on the way
    rests = float(np.mean(np.abs(dying[: lowest + 1]) < RINGS_BELOW / 2 * level))
    return bool(after.size) and int(after[0]) <= SWINGS_BACK * max(lowest, 2) and rests < 0.5


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
    past = f"the current goes {beyond / level * 100:.0f} % past its rest"
    far = beyond > MOST_BEYOND_REST * max(float(smooth.max()), level)
    if not closings:
        return (f"{past}: AC coupling, or the supply was reversed" if far else "no closing of the switch was found",)
    under = float(np.median([-_lowest_mean(current[closing.off + 1 : closing.end + 1]) for closing in closings]))
    sinking = float(np.median([_sinking(current[closing.rise : closing.off + 1], level) for closing in closings]))
    resolution = max(NOISE_SIGMAS * noise / np.sqrt(MEAN_WIDTH), MOST_SINKING * level)
    # a capacitor in the instrument that shows so much below rest has lost as much while the current was held;
    # one beside the contact or the coil has not: there the current rings
    held = [smooth[closing.rise : closing.off + 1] for closing in closings]
    fallen = float(np.median([np.quantile(piece, 0.95) - piece[-max(piece.size // 10, 3) :].mean() for piece in held]))
    stays = max(fallen, sinking) < max(RINGING_SINKS * under, noise)
    overshoots = float(smooth.max()) > (1 + RINGS_ABOVE) * level + 4 * noise / 3
    back = all(_swings_back(smooth[closing.off : closing.end + 1], level) for closing in closings)
    rings = resolution < under < level and stays and back and not overshoots
    if far and not rings:
        return (f"{past}: AC coupling, or the supply was reversed",)
    if under > resolution and not rings:
        return ("after opening the current lies below its rest and creeps back: AC coupling",)
    if sinking > resolution:
        return ("the current sinks while the switch is closed: AC coupling, or a supply that gives way",)
    return ()


def jumps_between_levels(samples_a: FloatArray, rate_hz: float) -> bool:
    """Return whether a signal jumps between two levels: a line signal, a voltage, or a current sampled too slowly.

    A coil's current takes its time constant to rise. One that rises from a tenth to nine tenths within a sample at all
    of several closings shows nothing of it.
    """
    samples = np.asarray(samples_a, dtype=np.float64)
    if samples.size < LEAST_SAMPLES or np.ptp(samples) == 0:
        return False
    low, high = _levels(samples)
    share = (samples - low) / (high - low) if high > low else np.zeros(samples.size)
    above, below = share > 0.9, share < 0.1
    known = np.flatnonzero(above | below)
    up = np.flatnonzero(np.diff(above[known].astype(int)) == 1)
    gaps = known[up + 1] - known[up]
    held = np.mean((np.abs(share) < 0.1) | (np.abs(share - 1) < 0.1))
    return bool(gaps.size >= LEAST_JUMPS and np.mean(gaps <= 2) > 0.9 and held > 0.9)


def clipped(prepared: Prepared) -> bool:
    """Return whether the recording ends at the top of the instrument's range, while the current still rose."""
    top = float(prepared.current_a.max())
    near = prepared.coarse_a + 1e-9 * abs(top)
    for closing in prepared.closings:
        piece = prepared.current_a[closing.rise : closing.off + 1]
        at_top = np.flatnonzero(piece >= top - near)
        if not at_top.size or np.mean(piece[at_top[0] :] >= top - near) < 0.9:
            return False
        first = int(at_top[0])
        reached = int(np.flatnonzero(piece > 0.63 * top)[0])
        before = max(0, first - max(3, reached // 4))
        slope = (piece[first] - piece[before]) / max(first - before, 1)
        if slope * max(reached, 1) < CLIPPED_SLOPE * top:
            return False
    return bool(prepared.closings)


def _lowest_mean(piece: FloatArray) -> float:
    """Return the lowest running mean of a piece; 0 when it is too short to tell."""
    if piece.size < MEAN_WIDTH:
        return 0.0
    sums = np.convolve(piece, np.ones(MEAN_WIDTH) / MEAN_WIDTH, mode="valid")
    return float(sums.min())


def _sinking(piece: FloatArray, level: float) -> float:
    """Return by how much a held current falls: over its last third, from the one before, or nearly to nothing."""
    middle, last = piece[piece.size // 3 : piece.size * 2 // 3], piece[piece.size * 2 // 3 :]
    if last.size < 8:
        return 0.0
    slope = np.polyfit(np.arange(last.size), last, 1)[0]
    gone = level - float(last.mean()) if last.mean() < 0.7 * level else 0.0
    return float(max(-slope * last.size, middle.mean() - last.mean(), gone))


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
