"""Does the feed error come back every so many rows? One odd step: a ratchet tooth. A wave: the feed wheel.

    one step   ------|----------|----------|---     a step that is long or short once a turn
    wave       .'``'.    .'``'.    .'``'.           positions swing about the line once a turn

Every period from 4 rows to two fifths of the run is tried; a period is believed only when its statistic could
hardly have come by chance among all that were tried (one in a thousand).
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapewright.number.reading import COVERAGE_FACTOR
from tapewright.pictures.picture import FloatArray, IntArray

SHORTEST, FEWEST_TURNS = 4, 2.5
CHANCE = 1e-3


@dataclass(frozen=True, slots=True)
class Period:
    """A feed error that comes back.

    Attributes:
        rows: rows from one to the next.
        kind: "one step" or "wave".
        size_mm: how much that step differs, or the amplitude of the wave.
        u_mm: its standard uncertainty.
        odds: statistic, larger is surer.
        phase: row (modulo `rows`) of the odd step; 0 for a wave.
    """

    rows: int
    kind: Literal["one step", "wave"]
    size_mm: float
    u_mm: float
    odds: float
    phase: int = 0


def find_period(n: IntArray, x: FloatArray, pitch_mm: float, smallest_mm: float) -> Period | None:
    """Return the surest period of feed positions x (mm) at rows n, None when there is none of `smallest_mm` or more."""
    whole = np.diff(n) == 1
    steps = np.diff(x)[whole] - pitch_mm
    rows = n[1:][whole]
    if steps.size < 3 * SHORTEST:
        return None
    # a missed or doubled feed is told by itself and must not hide, or make, a period
    keep = np.abs(steps - np.median(steps)) < 0.35 * pitch_mm
    tried = (_tooth(rows[keep], steps[keep]), _wave(n, x))
    # an error that its own doubt covers is none to count teeth for
    found = [p for p in tried if p is not None and abs(p.size_mm) > max(smallest_mm, COVERAGE_FACTOR * p.u_mm)]
    return max(found, key=lambda p: p.odds) if found else None


def _longest(rows: IntArray) -> int:
    return int((rows[-1] - rows[0] + 1) / FEWEST_TURNS)


def _tooth(rows: IntArray, steps: FloatArray) -> Period | None:
    """Look for one phase of one period whose steps all differ from the rest."""
    centre = float(np.median(steps))
    sigma = max(1.4826 * float(np.median(np.abs(steps - centre))), 1e-4)
    off = steps - centre
    best: Period | None = None
    tried = 0
    for period in range(SHORTEST, _longest(rows) + 1):
        tried += period
        phase = rows % period
        count = np.bincount(phase, minlength=period)
        mean = np.bincount(phase, off, period) / np.maximum(count, 1)
        t = np.abs(mean) * np.sqrt(count) / sigma
        t[count < FEWEST_TURNS] = 0
        at = int(np.argmax(t))
        # all turns must agree: the smallest of them still shows the same sign
        members = off[phase == at]
        agree = float(np.mean(np.sign(members) == np.sign(mean[at])))
        if agree > 0.85 and (best is None or t[at] > 1.02 * best.odds):
            u = float(np.std(members, ddof=1) / np.sqrt(members.size)) if members.size > 1 else sigma
            best = Period(period, "one step", float(mean[at]), u, float(t[at]), at)
    if best is None or best.odds < np.sqrt(2 * np.log(tried / CHANCE)) or abs(best.size_mm) < 2 * sigma:
        return None
    return best


def _wave(n: IntArray, x: FloatArray) -> Period | None:
    """Look for a sine in the positions, beside a straight line; finer than whole rows, reported in whole rows."""
    longest = _longest(n)
    if longest <= SHORTEST:
        return None
    # a walk of the feed gives power at long periods by itself: judge the differences, where it is white
    steps = np.diff(x) / np.diff(n)
    off = steps - np.median(steps)
    limit = 5 * max(1.4826 * float(np.median(np.abs(off))), 1e-4)
    off = np.clip(off, -limit, limit)
    off = off - off.mean()
    variance = float(np.mean(off**2))
    frequency = np.arange(1 / longest, 1 / SHORTEST, 0.25 / (n[-1] - n[0] + 1))
    wave = np.exp(-2j * np.pi * frequency[:, None] * n[1:])
    amplitude = 2 * np.abs(wave @ off) / off.size
    power = amplitude**2 * off.size / (4 * variance) if variance > 0 else 0 * amplitude
    best = int(np.argmax(power))
    if power[best] < np.log(frequency.size / CHANCE):
        return None
    # a step of amplitude a at frequency f is a swing of the position of a / (2 sin(pi f))
    gain = 1 / (2 * np.sin(np.pi * frequency[best]))
    u = float(np.sqrt(2 * variance / off.size) * gain)
    rows = max(SHORTEST, round(1 / float(frequency[best])))
    return Period(rows, "wave", float(amplitude[best] * gain), u, float(np.sqrt(2 * power[best])))
