r"""Mains hum on a recorded coil current: found where the current is steady, taken off everywhere.

    steady     rest before each closing, and the last of each held current: there only a constant and a drift belong
    model      y = a + b t (each stretch its own)  +  sum over h = 1..3 of  C_h cos(2 pi h f t) + S_h sin(2 pi h f t)

One frequency, one phase for the whole recording: the mains do not stop between two closings. f is looked for within
one per cent of 50 and of 60 Hz (EN 50160 allows the interconnected mains 1 % for 99.5 % of a year; from memory).
Linear least squares at each f; the f with the least chi squared is taken.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from tapewright.coil.coil_recording import Closing, FloatArray, Prepared, prepare

MAINS_HZ, MAINS_SHARE = (50.0, 60.0), 0.01
HARMONICS = (1, 2, 3)
#: chi squared must fall by this much for hum to be there: six figures and a search over the frequency do 30 by chance
LEAST_FALL = 45.0
#: steady samples must cover this many periods of the mains, or hum cannot be told from the rise
LEAST_PERIODS = 2.0
LEAST_STRETCH = 12
#: the part of a held current that is taken as steady
HELD_SHARE = 0.35
#: hum above this share of the current is not taken off: what is left of it would be taken for a landing
MOST_HUM = 0.2
#: hum below this share is an error of any shape where it cannot be taken off; a swing of this many half steps of the
#: converter is the staircase of a slow current
SMALL_HUM, STAIRCASE = 0.005, 2.0
#: what may be left of the hum, in units of the noise of one sample, must be less than this
MOST_LEFT = 0.5
#: what is left of the hum goes up and down slowly: so many samples in a row have it alike
ALIKE = 20
#: the first pass may place the closings badly; the second looks again where they really are
PASSES = 2


@dataclass(frozen=True, slots=True, eq=False)
class Hum:
    """Hum that was found.

    Attributes:
        hz: its frequency.
        peak_a: half of its swing from lowest to highest.
        wave_a: shape (n,), what it adds to each sample of the recording.
        left_a: standard uncertainty of `wave_a`, root mean square over the recording.
        sure: True when the steady stretches cover enough of its periods to take it off elsewhere too.
    """

    hz: float
    peak_a: float
    wave_a: FloatArray
    left_a: float
    sure: bool


def prepare_without_hum(samples_a: FloatArray, rate_hz: float) -> tuple[Prepared, str]:
    """Make a recording ready as `prepare` does, hum taken off; give with it what is to be said of the hum.

    Where there is hum that cannot be taken off for sure, the recording is doubted and nothing is told from it.
    """
    samples = np.asarray(samples_a, dtype=np.float64)
    prepared, said = prepare(samples, rate_hz), ""
    for _ in range(PASSES):
        hum = find_hum(prepared)
        if hum is None or hum.peak_a <= STAIRCASE * prepared.coarse_a:
            break
        said = f"mains hum of {hum.hz:.1f} Hz, {hum.peak_a / prepared.level_a * 100:.1f} % of the current, "
        if not hum.sure and hum.peak_a < SMALL_HUM * prepared.level_a:
            # too small to take off, and to hide a movement behind: an error of any shape
            coarse = prepared.coarse_a + hum.peak_a
            said += "too little to take off; record again with it cured if you can"
            return replace(prepared, coarse_a=coarse, noise_a=float(np.hypot(prepared.noise_a, hum.peak_a))), said
        if not hum.sure or hum.peak_a > MOST_HUM * prepared.level_a:
            # a sagging, AC-coupled current passes for hum: what was doubted before stays, after it
            doubt = said + "too much for a recording this short or this small"
            return replace(prepared, doubts=(doubt, *prepared.doubts)), ""
        said += "was taken off; record again with it cured if you can"
        samples = samples + hum.wave_a if prepared.inverted else samples - hum.wave_a
        prepared = prepare(samples, rate_hz)
        slow = float(np.sqrt(prepared.noise_scale**2 + ALIKE * (hum.left_a / prepared.noise_a) ** 2))
        rest_u = float(np.hypot(prepared.rest_u_a, hum.left_a))
        prepared = replace(prepared, noise_scale=slow, rest_u_a=rest_u)
    return prepared, said


def find_hum(prepared: Prepared) -> Hum | None:
    """Look for mains hum where the current is steady; None when there is none to be seen."""
    current, rate_hz, noise = prepared.current_a, prepared.rate_hz, prepared.noise_a
    every = [piece for closing in prepared.closings for piece in _steady(closing)]
    stretches = [piece for piece in every if piece.stop - piece.start >= LEAST_STRETCH]
    if not stretches or noise <= 0:
        return None
    at = np.concatenate([np.arange(piece.start, piece.stop) for piece in stretches])
    times, values = at / rate_hz, current[at]
    plain = _drifts(stretches, at)
    tried = [
        (_chi2(np.hstack([plain, _waves(times, hz)]), values, noise), hz) for hz in _frequencies(current.size / rate_hz)
    ]
    least, hz = min(tried)
    if _chi2(plain, values, noise) - least < LEAST_FALL:
        return None
    solved = np.linalg.lstsq(np.hstack([plain, _waves(times, hz)]), values, rcond=None)[0][plain.shape[1] :]
    everywhere = np.arange(current.size) / rate_hz
    wave = _waves(everywhere, hz) @ solved
    left = _left(plain, times, everywhere, hz, solved) * noise
    sure = at.size / rate_hz * hz >= LEAST_PERIODS and left < MOST_LEFT * noise
    return Hum(hz, float(np.ptp(wave)) / 2, wave, left, sure)


def _left(plain: FloatArray, times: FloatArray, everywhere: FloatArray, hz: float, solved: FloatArray) -> float:
    """Return the root mean square of what may be left of the hum, in units of the noise of one sample.

    The frequency is one of the figures fitted: its column is the slope of the wave against it.
    """
    columns = np.hstack([plain, _waves(times, hz), _by_frequency(times, hz, solved)])
    covariance = np.linalg.pinv(columns.T @ columns)[plain.shape[1] :, plain.shape[1] :]
    rows = np.hstack([_waves(everywhere, hz), _by_frequency(everywhere, hz, solved)])
    return float(np.sqrt(np.mean(np.einsum("ij,jk,ik->i", rows, covariance, rows))))


def _by_frequency(times: FloatArray, hz: float, solved: FloatArray) -> FloatArray:
    step = 1e-4
    slope = (_waves(times, hz + step) - _waves(times, hz - step)) @ solved / (2 * step)
    return np.asarray(slope[:, None])


def _steady(closing: Closing) -> Iterator[slice]:
    rest = closing.begin + (closing.rise - closing.begin) // 2
    yield slice(rest, max(closing.rise - 3, rest))
    yield slice(closing.off - int(HELD_SHARE * (closing.off - closing.rise)), max(closing.off - 2, 0))


def _drifts(stretches: Sequence[slice], at: npt.NDArray[np.int_]) -> FloatArray:
    """Return a column of ones and one of time for each stretch."""
    columns = []
    for piece in stretches:
        inside = ((at >= piece.start) & (at < piece.stop)).astype(float)
        middle = (piece.start + piece.stop) / 2
        columns += [inside, inside * (at - middle) / (piece.stop - piece.start)]
    return np.stack(columns, axis=1)


def _waves(times: FloatArray, hz: float) -> FloatArray:
    turns = [2 * np.pi * harmonic * hz * times for harmonic in HARMONICS]
    return np.stack([wave(turn) for turn in turns for wave in (np.cos, np.sin)], axis=1)


def _frequencies(seconds: float) -> list[float]:
    """Return the frequencies to try: fine enough that the phase slips by a tenth of a turn at most."""
    step = 0.2 / max(seconds, 0.2)
    grids = [np.arange(mains * (1 - MAINS_SHARE), mains * (1 + MAINS_SHARE) + step / 2, step) for mains in MAINS_HZ]
    return [float(hz) for hz in np.concatenate(grids)]


def _chi2(columns: FloatArray, values: FloatArray, noise: float) -> float:
    solved = np.linalg.lstsq(columns, values, rcond=None)[0]
    return float((((values - columns @ solved) / noise) ** 2).sum())
