r"""Speed: character by character, how long the stop is, whether it drifts, whether it hunts.

Within one character the residuals of its instants (what is left when each contact's mean is taken out) are
r = start error + k s + scatter; s by generalised least squares is that character's unit less the mean unit.

Ripple of relative amplitude a at f moves an instant, timed from the start transition S, by

    integral from S to t of  a cos(2 pi f t' + phase) dt'

and is fitted to all residuals at once over a range of f. A ripple that keeps step with the cam is the same in
every character and cannot be told from the contacts' own lateness; it is left there.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.fft import next_fast_len

from tapewright.core.line.capture import FloatArray
from tapewright.core.line.frames import Frames, IntArray
from tapewright.core.line.groups import Groups
from tapewright.core.line.instants import Instants

ComplexArray = npt.NDArray[np.complex128]

#: Pauses between characters up to this much longer than the shortest belong to a full-speed stream.
STREAM_SPREAD_UNITS, LONGEST_STREAM_STOP_UNITS, FEWEST_PAUSES = 0.35, 3.5, 4
#: From slow hunting to the turn of the fastest motor: two poles at 60 Hz, 3600 a minute, and a little more.
RIPPLE_LOW_HZ, RIPPLE_HIGH_HZ, RIPPLE_STEPS_PER_LINE = 0.1, 65.0, 5.0
#: Steps of the search's time grid in a period of the highest frequency: a phase is then known to 0.05 rad.
RIPPLE_GRID = 32
#: Peaks of the search that are fitted exactly.
RIPPLE_PEAKS = 8
RIPPLE_LONGEST_S, RIPPLE_MOST_INSTANTS = 60.0, 4000
FEWEST_FOR_RIPPLE, FEWEST_FOR_DRIFT = 60, 12
#: Chance that noise alone shows a ripple.
RIPPLE_FALSE_ALARM = 0.001


@dataclass(frozen=True, slots=True, eq=False)
class CharacterSpeeds:
    """Unit and stop of each character.

    Attributes:
        unit_s: shape (n,), unit of each character; NaN with fewer than two instants.
        unit_u_s: shape (n,), its standard uncertainty.
        stop_units: shape (n,), pause after it until the next start, units; NaN where there is no next.
    """

    unit_s: FloatArray
    unit_u_s: FloatArray
    stop_units: FloatArray


@dataclass(frozen=True, slots=True)
class Stream:
    """Characters that follow each other at full speed.

    Attributes:
        character_s: mean period, with `character_u_s`.
        n: number of periods averaged.
    """

    character_s: float
    character_u_s: float
    n: int


@dataclass(frozen=True, slots=True)
class Ripple:
    """A periodic change of speed.

    Attributes:
        amplitude: half of peak to peak, relative to the speed, with `u`.
        frequency_hz: how fast it swings.
        shown: whether it stands clear of the noise; if not, `amplitude` is what noise alone could hide.
        in_phase: part of the amplitude that goes with cos(2 pi f t).
        in_quadrature: part that goes with sin(2 pi f t).
    """

    amplitude: float
    u: float
    frequency_hz: float
    shown: bool
    in_phase: float
    in_quadrature: float

    def displacement_s(self, start_s: FloatArray, elapsed_s: FloatArray) -> FloatArray:
        """Give how much later than at the mean speed each instant comes, shape (n,); nothing if not shown."""
        if not self.shown:
            return np.zeros_like(elapsed_s)
        a, b = _moved(self.frequency_hz, start_s, start_s + elapsed_s)
        return self.in_phase * a + self.in_quadrature * b


def character_speeds(
    frames: Frames, instants: Instants, groups: Groups, unit_s: float, swing_s: FloatArray
) -> CharacterSpeeds:
    """Give unit and stop of each character.

    Args:
        frames: the characters.
        instants: their instants.
        groups: their means, with any ripple taken out.
        unit_s: the mean unit.
        swing_s: shape (instants,), the ripple that was taken out; it belongs to a character's own speed.
    """
    n, elements = frames.elements.shape
    kept = np.isfinite(groups.residual_s)
    frame, k = instants.frame[kept], instants.boundary[kept].astype(float)
    r = groups.residual_s[kept] + swing_s[kept]

    def total(values: FloatArray) -> FloatArray:
        return np.asarray(np.bincount(frame, values, minlength=n), float)

    start2 = groups.start_scatter_s**2
    own2 = max(groups.scatter_s**2 - start2, 0.1 * groups.scatter_s**2, groups.resolution_s**2, 1e-18)
    ridge = own2 / start2 if start2 > 0 else 1e12
    count, sum_k, sum_kk = total(np.ones_like(r)) + ridge, total(k), total(k * k)
    determinant = count * sum_kk - sum_k**2
    enough = np.bincount(frame, minlength=n) >= 2
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = (count * total(k * r) - sum_k * total(r)) / determinant
        u = np.sqrt(own2 * count / determinant)
    mean_unit = groups.unit_s
    stop = np.full(n, np.nan)
    if n > 1:
        stop[:-1] = np.diff(frames.start_s) / unit_s - (elements + 1)
    return CharacterSpeeds(np.where(enough, mean_unit + slope, np.nan), np.where(enough, u, np.nan), stop)


def find_stream(frames: Frames, stop_units: FloatArray, unit_s: float, resolution_s: float) -> Stream | None:
    """Find the characters sent at full speed and their mean period; None when all were keyed by hand."""
    elements = frames.elements.shape[1]
    pauses = stop_units[np.isfinite(stop_units)]
    if pauses.size < FEWEST_PAUSES:
        return None
    shortest = float(np.percentile(pauses, 10))
    close = pauses[np.abs(pauses - shortest) < STREAM_SPREAD_UNITS]
    if close.size < max(FEWEST_PAUSES, 0.2 * pauses.size) or shortest > LONGEST_STREAM_STOP_UNITS:
        return None
    middle = float(np.median(close))
    spread = max(1.4826 * float(np.median(np.abs(close - middle))), 1e-6)
    close = close[np.abs(close - middle) <= 5 * spread + 1e-6]
    period = (close + elements + 1) * unit_s
    # in an unbroken run only its two ends are uncertain by what the instrument resolves
    u = np.hypot(period.std(ddof=1) / np.sqrt(close.size), np.sqrt(2) * resolution_s / close.size)
    return Stream(float(period.mean()), float(u), int(close.size))


def drift(frames: Frames, speeds: CharacterSpeeds, unit_s: float) -> tuple[float, float] | None:
    """Give the change of the speed from begin to end, relative (positive = faster), and its u; None if too few."""
    good = np.isfinite(speeds.unit_s) & (speeds.unit_u_s > 0)
    if good.sum() < FEWEST_FOR_DRIFT:
        return None
    t, y, w = frames.start_s[good], speeds.unit_s[good] / unit_s, 1 / speeds.unit_u_s[good] ** 2
    t = (t - t[0]) / max(float(t[-1] - t[0]), 1e-9)
    w = w / w.sum()
    centred = t - w @ t
    moment = float(w @ centred**2)
    slope = float(w @ (centred * y)) / moment
    rest = y - w @ y - slope * centred
    u = np.sqrt(float(w**2 @ (centred * rest) ** 2)) / moment * np.sqrt(t.size / (t.size - 2))
    least = float(np.sqrt(1 / (1 / speeds.unit_u_s[good] ** 2).sum() / moment)) / unit_s
    return -slope, max(float(u), least)


def find_ripple(frames: Frames, instants: Instants, groups: Groups) -> Ripple | None:
    """Find the strongest periodic change of speed; None when there are too few instants."""
    kept = np.flatnonzero(np.isfinite(groups.residual_s))
    begin = frames.start_s[instants.frame[kept]]
    if kept.size:
        kept = kept[begin - begin[0] < RIPPLE_LONGEST_S][:RIPPLE_MOST_INSTANTS]
    if kept.size < FEWEST_FOR_RIPPLE:
        return None
    start = frames.start_s[instants.frame[kept]]
    at, r = start + instants.elapsed_s[kept], groups.residual_s[kept]
    span = float(at[-1] - at[0])
    frequencies, gains = _spectrum(max(RIPPLE_LOW_HZ, 1.5 / span), start, at, r)
    # a frequency and its mirror in a multiple of the characters' rate look nearly alike: the exact fit decides
    best = max(_highest(frequencies, gains), key=lambda f: _fit(f, start, at, r)[0])
    fine = best + np.linspace(-1, 1, 41) * (frequencies[1] - frequencies[0])
    best = float(max(fine[fine > 0], key=lambda f: _fit(float(f), start, at, r)[0]))
    gain, x, y, unit_u = _fit(best, start, at, r)
    amplitude = float(np.hypot(x, y))
    noise = max(float(np.sqrt(max(float(r @ r) - gain, 0.0) / (kept.size - 2))), groups.resolution_s)
    u = noise * unit_u
    # the start's own error is shared by a character, so fewer instants are independent than there are
    u *= float(np.sqrt(1 + groups.start_scatter_s**2 / max(groups.scatter_s**2, 1e-30) * 3))
    swing = float(np.sqrt(sum(float(part @ part) for part in _moved(best, start, at)) / kept.size))
    least = float(np.sqrt(2 * np.log(frequencies.size / RIPPLE_FALSE_ALARM))) * u + _beat_s(groups) / swing
    shown = amplitude > least
    return Ripple(amplitude if shown else least, u, best, shown, x, y)


def _beat_s(groups: Groups) -> float:
    r"""Give the displacement that sampling alone can make swing: characters that beat with the sample clock.

    Rounding to steps q makes a sawtooth, or, where the starts lie close to the clock's own beat, a square wave of one
    step: fundamentals q / pi and 2 q / pi, one for either end of a time; less  exp(-2 pi^2 s^2 / q^2)  when the start
    scatters by s (Fourier series; characteristic function of a normal variable). Rounding alone may already make a
    scatter of q / 2, which is no such dither.
    """
    step = groups.resolution_s * float(np.sqrt(6))  # the doubt of an instant is that of both ends, q / sqrt 6
    scatter2 = max(groups.start_scatter_s**2 - step**2 / 4, 0.0)
    return 3 * step / float(np.pi) * float(np.exp(-2 * (np.pi / step) ** 2 * scatter2)) if step > 0 else 0.0


def _spectrum(low_hz: float, start: FloatArray, at: FloatArray, r: FloatArray) -> tuple[FloatArray, FloatArray]:
    r"""Give frequencies from `low_hz` up, shape (f,), and the squares each explains, shape (f,).

    With m = exp(i w at) - exp(i w start) the fit needs only  sum r m,  sum m^2  and  sum |m|^2,  and each is a Fourier
    sum over the times or over sums and differences of two of them. On a grid of time that is one fast transform each;
    the best frequency is fitted anew without the grid.
    """
    step = 1 / (RIPPLE_GRID * RIPPLE_HIGH_HZ)
    a, b = (np.round((t - start[0]) / step).astype(np.int64) for t in (at, start))
    size = int(next_fast_len(int(RIPPLE_STEPS_PER_LINE * (a[-1] - b[0])) + 64, real=True))
    frequencies = np.fft.rfftfreq(size, step)
    kept = (frequencies >= low_hz) & (frequencies <= RIPPLE_HIGH_HZ)

    def total(*parts: tuple[IntArray, FloatArray | float]) -> ComplexArray:
        grid = np.zeros(size)
        for place, weight in parts:
            grid += np.bincount(place % size, np.broadcast_to(weight, place.shape), minlength=size)
        return np.asarray(np.conj(np.fft.rfft(grid))[kept])

    towards = total((a, r), (b, -r))
    square, length = total((2 * a, 1.0), (a + b, -2.0), (2 * b, 1.0)), 2 * a.size - 2 * total((a - b, 1.0)).real
    aa, bb, ab = (length - square.real) / 2, (length + square.real) / 2, square.imag / 2
    ar, br = towards.imag, towards.real
    determinant = aa * bb - ab * ab
    whole = determinant > 1e-9 * aa * bb
    gains = np.where(whole, (bb * ar**2 - 2 * ab * ar * br + aa * br**2) / np.where(whole, determinant, 1.0), 0.0)
    return np.asarray(frequencies[kept], float), np.asarray(gains, float)


def _highest(frequencies: FloatArray, gains: FloatArray) -> list[float]:
    """Give the frequencies of the highest peaks."""
    inner = gains[1:-1]
    peaks = 1 + np.flatnonzero((inner >= gains[:-2]) & (inner >= gains[2:]))
    order = peaks[np.argsort(gains[peaks])[::-1][:RIPPLE_PEAKS]]
    return [float(f) for f in frequencies[order]] or [float(frequencies[int(np.argmax(gains))])]


def _moved(frequency_hz: float, start: FloatArray, at: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Integrate a cosine and a sine of the speed from each start to each instant, shape (n,) each."""
    w = 2 * np.pi * frequency_hz
    return (np.sin(w * at) - np.sin(w * start)) / w, (np.cos(w * start) - np.cos(w * at)) / w


def _fit(frequency_hz: float, start: FloatArray, at: FloatArray, r: FloatArray) -> tuple[float, float, float, float]:
    """Fit one frequency; give the squares it explains, both amplitudes, and their u for a scatter of one."""
    a, b = _moved(frequency_hz, start, at)
    aa, ab, bb = float(a @ a), float(a @ b), float(b @ b)
    determinant = aa * bb - ab * ab
    if determinant <= 1e-9 * aa * bb:
        return 0.0, 0.0, 0.0, 0.0
    ar, br = float(a @ r), float(b @ r)
    x, y = (bb * ar - ab * br) / determinant, (aa * br - ab * ar) / determinant
    return x * ar + y * br, x, y, float(np.sqrt((aa + bb) / 2 / determinant))
