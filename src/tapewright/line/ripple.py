r"""Ripple: whether the speed swings, how fast and how far.

Ripple of relative amplitude a at f moves an instant, timed from the start transition S, by

    integral from S to t of  a cos(2 pi f t' + phase) dt'

and is fitted to all residuals at once over a range of f. A ripple that keeps step with the cam is the same in
every character and cannot be told from the contacts' own lateness; it is left there.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tapewright.line.frames import Frames, IntArray
from tapewright.line.groups import Groups
from tapewright.line.instants import Instants
from tapewright.recordings.capture import FloatArray

ComplexArray = npt.NDArray[np.complex128]

#: From slow hunting to the turn of the fastest motor: two poles at 60 Hz, 3600 a minute, and a little more.
RIPPLE_LOW_HZ, RIPPLE_HIGH_HZ, RIPPLE_STEPS_PER_LINE = 0.1, 65.0, 5.0
#: Steps of the search's time grid in a period of the highest frequency: a phase is then known to 0.05 rad.
RIPPLE_GRID = 32
#: Peaks of the search that are fitted exactly.
RIPPLE_PEAKS, CLIMB_STEPS = 8, 11
#: Two frequencies explain the instants alike when their misfits differ by less than this many times the variance of
#: one instant (chi-square with one degree of freedom: 1 in 300); no drive swings by more than this share.
ALIKE, BEYOND_BELIEF = 9.0, 0.2
#: Share of the squares that the climb's steps may leave below a peak's top: a tenth of a step off, (pi / 50)^2 / 3.
TOP_MISSED = 0.002
RIPPLE_LONGEST_S, RIPPLE_MOST_INSTANTS = 60.0, 4000
FEWEST_FOR_RIPPLE = 60
#: Chance that noise alone shows a ripple.
RIPPLE_FALSE_ALARM = 0.001


@dataclass(frozen=True, slots=True)
class Ripple:
    """A periodic change of speed.

    Attributes:
        amplitude: half of peak to peak, relative to the speed, with `u`.
        frequency_hz: how fast it swings.
        shown: whether it stands clear of the noise; if not, `amplitude` is what noise alone could hide.
        in_phase: part of the amplitude that goes with cos(2 pi f t).
        in_quadrature: part that goes with sin(2 pi f t).
        rivals_hz: other frequencies that explain the recording as well.
    """

    amplitude: float
    u: float
    frequency_hz: float
    shown: bool
    in_phase: float
    in_quadrature: float
    rivals_hz: tuple[float, ...]

    def displacement_s(self, start_s: FloatArray, elapsed_s: FloatArray) -> FloatArray:
        """Return how much later than at the mean speed each instant comes, shape (n,); nothing if not shown."""
        if not self.shown:
            return np.zeros_like(elapsed_s)
        a, b = _moved(self.frequency_hz, start_s, start_s + elapsed_s)
        return self.in_phase * a + self.in_quadrature * b


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
    seen = _Seen(start, at, r, groups.group[kept])
    span = float(at[-1] - at[0])
    frequencies, gains = _spectrum(max(RIPPLE_LOW_HZ, 1.5 / span), start, at, r)
    step = float(frequencies[1] - frequencies[0])
    peaks = [_climb(f, step, seen) for f in _highest(frequencies, gains)]
    best, rivals = _mildest(peaks, float(r @ r), kept.size)
    gain, x, y, unit_u = _fit(best, seen)
    amplitude = float(np.hypot(x, y))
    noise = max(float(np.sqrt(max(float(r @ r) - gain, 0.0) / (kept.size - 2))), groups.resolution_s)
    u = noise * unit_u
    # the start's own error is shared by a character, so fewer instants are independent than there are
    u *= float(np.sqrt(1 + groups.start_scatter_s**2 / max(groups.scatter_s**2, 1e-30) * 3))
    swing = float(np.sqrt(sum(float(part @ part) for part in _moved(best, start, at)) / kept.size))
    least = float(np.sqrt(2 * np.log(frequencies.size / RIPPLE_FALSE_ALARM))) * u + _beat_s(groups) / swing
    shown = amplitude > least
    return Ripple(amplitude if shown else least, u, best, shown, x, y, rivals)


def _beat_s(groups: Groups) -> float:
    r"""Return the displacement that sampling alone can make swing: characters that beat with the sample clock.

    Rounding to steps q makes a sawtooth, or, where the starts lie close to the clock's own beat, a square wave of one
    step: fundamentals q / pi and 2 q / pi, one for either end of a time; less  exp(-2 pi^2 s^2 / q^2)  when the start
    scatters by s (Fourier series; characteristic function of a normal variable). Rounding alone may already make a
    scatter of q / 2, which is no such dither.
    """
    step = groups.resolution_s * float(np.sqrt(6))  # the doubt of an instant is that of both ends, q / sqrt 6
    scatter2 = max(groups.start_scatter_s**2 - step**2 / 4, 0.0)
    return 3 * step / float(np.pi) * float(np.exp(-2 * (np.pi / step) ** 2 * scatter2)) if step > 0 else 0.0


def _spectrum(low_hz: float, start: FloatArray, at: FloatArray, r: FloatArray) -> tuple[FloatArray, FloatArray]:
    r"""Return frequencies from `low_hz` up, shape (f,), and the squares each explains, shape (f,).

    With m = exp(i w at) - exp(i w start) the fit needs only  sum r m,  sum m^2  and  sum |m|^2,  and each is a Fourier
    sum over the times or over sums and differences of two of them. On a grid of time that is one fast transform each;
    the best frequency is fitted anew without the grid.
    """
    step = 1 / (RIPPLE_GRID * RIPPLE_HIGH_HZ)
    a, b = (np.round((t - start[0]) / step).astype(np.int64) for t in (at, start))
    size = _fast_length(int(RIPPLE_STEPS_PER_LINE * (a[-1] - b[0])) + 64)
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
    over = np.where(whole, determinant, 1.0)
    gains = (bb * ar**2 - 2 * ab * ar * br + aa * br**2) / over
    swing = 2 * np.pi * frequencies[kept] * np.hypot(bb * ar - ab * br, aa * br - ab * ar) / over
    believed = whole & (swing < BEYOND_BELIEF)
    return np.asarray(frequencies[kept], float), np.asarray(np.where(believed, gains, 0.0), float)


def _highest(frequencies: FloatArray, gains: FloatArray) -> list[float]:
    """Return the frequencies of the highest peaks."""
    inner = gains[1:-1]
    peaks = 1 + np.flatnonzero((inner >= gains[:-2]) & (inner >= gains[2:]))
    order = peaks[np.argsort(gains[peaks])[::-1][:RIPPLE_PEAKS]]
    return [float(f) for f in frequencies[order]] or [float(frequencies[int(np.argmax(gains))])]


@dataclass(frozen=True, slots=True)
class _Peak:
    """A frequency, the squares it explains, and the relative amplitude it takes for that."""

    hz: float
    gain: float
    amplitude: float


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """The instants a swing is looked for in, all of shape (n,): start of the character, place, residual, group."""

    start: FloatArray
    at: FloatArray
    r: FloatArray
    group: IntArray

    def mean_of_group(self, values: FloatArray) -> FloatArray:
        n = np.bincount(self.group)
        return np.asarray((np.bincount(self.group, values) / np.maximum(n, 1))[self.group], float)


def _fast_length(least: int) -> int:
    """Return the smallest 2^i 3^j 5^k not below `least`, which a Fourier transform is fast at."""
    odd: list[int] = [3**j * 5**k for j in range(20) for k in range(14) if 3**j * 5**k < 2 * least]
    return min(each << (-(-least // each) - 1).bit_length() for each in odd)


def _climb(hz: float, step_hz: float, seen: _Seen) -> _Peak:
    """Fit exactly about a peak of the search, and give its top."""
    around = [f for f in hz + step_hz * np.linspace(-1, 1, CLIMB_STEPS) if f > 0]
    fits = [(*_fit(float(f), seen)[:3], float(f)) for f in around]
    gain, x, y, top = max(fits)
    return _Peak(top, gain, float(np.hypot(x, y)))


def _mildest(peaks: list[_Peak], squares: float, n: int) -> tuple[float, tuple[float, ...]]:
    """Choose among the peaks that explain the instants alike the one with the smallest swing; give the others too.

    Where all instants lie on a grid of time, a frequency f and its mirrors in multiples of the grid's rate move them
    alike, but near such a multiple only a swing beyond belief would.
    """
    peaks = [peak for peak in peaks if peak.amplitude <= BEYOND_BELIEF] or peaks
    highest = max(peak.gain for peak in peaks)
    noise = max(squares - highest, 0.0) / max(n - 2, 1)
    alike = [p for p in peaks if p.gain >= highest * (1 - TOP_MISSED) - ALIKE * noise]
    mild = min(alike, key=lambda p: p.amplitude)
    others = [p.hz for p in alike if p is not mild]
    return mild.hz, tuple(sorted(others))


def _moved(frequency_hz: float, start: FloatArray, at: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Integrate a cosine and a sine of the speed from each start to each instant, shape (n,) each."""
    w = 2 * np.pi * frequency_hz
    return (np.sin(w * at) - np.sin(w * start)) / w, (np.cos(w * start) - np.cos(w * at)) / w


def _fit(frequency_hz: float, seen: "_Seen") -> tuple[float, float, float, float]:
    """Fit one frequency; give the squares it explains, both amplitudes, and their u for a scatter of one.

    The residuals have no mean in any group, so what the swing gives each group's mean is taken out of it as well.
    """
    a, b = (part - seen.mean_of_group(part) for part in _moved(frequency_hz, seen.start, seen.at))
    r = seen.r
    aa, ab, bb = float(a @ a), float(a @ b), float(b @ b)
    determinant = aa * bb - ab * ab
    if determinant <= 1e-9 * aa * bb:
        return 0.0, 0.0, 0.0, 0.0
    ar, br = float(a @ r), float(b @ r)
    x, y = (bb * ar - ab * br) / determinant, (aa * br - ab * ar) / determinant
    return x * ar + y * br, x, y, float(np.sqrt((aa + bb) / 2 / determinant))
