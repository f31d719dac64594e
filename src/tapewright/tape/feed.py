r"""The feed row: pitch with its doubt, steps, and what they add up to.

Picture (x = feed hole, n = row):

    position |              .x          pitch  = slope of the regression of position on n
             |         .x'              step   = x[n] - x[n-1]; scatter = their standard deviation
             |    x .'                  cumulative = distance of a hole from the line
             | .'                       period = rows after which the error comes back
             +----------------- n

Doubt of the pitch: position noise w (white) and step noise s (a walk) are told apart by the steps' own
covariance, cov(step n, step n+1) = -w^2, var(step) = s^2 + 2 w^2. A least squares slope over N rows then has
u^2 = 12 w^2 / N^3 + 6/5 s^2 / N; to this comes the doubt of the scale.

Pitch added up: the feed hole farthest from the even grid, and the worst stretch of 50 steps.

    place - line |        .x.                 x  as read, with the noise of reading (white, w)
                 |   x.'       '. x           .  the walk of the feed itself (each step off by s), smoothed
                 |.'              ' .
                 +--------------------- n

The largest of many readings is mostly the one with the largest noise: taken as it stands it is too large, and its own
doubt does not cover that. So the walk is first told from the noise (Kalman filter and Rauch-Tung-Striebel smoother of a
random walk, from memory), and the largest place of the walk is given with the doubt the smoother leaves. As that is
what is believed of every row at once, choosing one afterwards adds no bias.
"""

from dataclasses import dataclass

import msgspec
import numpy as np

from tapewright.number import Reading, missing
from tapewright.pictures.picture import FloatArray, IntArray
from tapewright.reference.five_unit_tape import GRID_MM
from tapewright.tape.document import Feed, HoleState
from tapewright.tape.geometry import (
    CENTRE_FLOOR_PX,
    CURLED,
    DIAMETER_FLOOR_PX,
    SLANTED,
    Millimetres,
    diameter_of,
    mean_of,
    why_missing,
)
from tapewright.tape.neighbours import rolling_median
from tapewright.tape.period import Period, find_period
from tapewright.tape.pose import STEP_OF_TRACK, Posed
from tapewright.tape.scale import Scale

FEWEST_FOR_PITCH = 8
#: A step is odd against the median of so many on both sides.
SHORT_BELOW, LONG_ABOVE, NEAR_STEPS = 0.85, 1.15, 10
#: The pixel raster itself gives a small swing that comes back every few rows; below this nothing is called a period.
PERIOD_FLOOR_PX = 0.1
STRETCH = 50


def measure_feed(posed: Posed, mm: Millimetres, scale: Scale) -> Feed:
    """Measure the feed row."""
    n = np.flatnonzero(posed.found)
    if n.size < FEWEST_FOR_PITCH:
        why = f"only {n.size} feed holes can be read; {FEWEST_FOR_PITCH} are needed"
        return _no_feed(missing("mm", why))
    if mm.curled:
        return _uneven(posed, mm, scale, n)
    x = mm.x_mm[n]
    pitch, white, walk = fit_pitch(n, x, scale)
    u_white = float(np.hypot(white, CENTRE_FLOOR_PX / scale.value))
    if mm.slanted:
        added_up = over_50 = Place(missing("mm", SLANTED), None)
    else:
        added_up = worst_place(n, x, u_white, walk)
        over_50 = worst_stretch(n, x, u_white, walk, scale)
    steps = np.diff(x) / np.diff(n)
    period = find_period(n, x, float(pitch.value or GRID_MM), smallest_mm=PERIOD_FLOOR_PX / scale.value)
    short, long = odd_steps(n, x)
    readings = {
        "diameter_mm": _feed_diameter(posed, mm, scale),
        "oval_mm": _oval(posed, mm, scale),
        "advanced_mm": _advanced(posed, mm, scale),
        "out_of_square_mm": _out_of_square(posed, mm, scale),
    }
    return Feed(
        pitch_mm=pitch,
        scatter_mm=_scatter(steps, u_white),
        worst_cumulative_mm=added_up.off_mm,
        worst_row=added_up.row,
        over_50_mm=over_50.off_mm,
        over_50_row=over_50.row,
        period_rows=period.rows if period else None,
        period_kind=period.kind if period else None,
        period_mm=_period_size(period, n.size),
        short_rows=short,
        long_rows=long,
        **readings,
        notes=why_missing((pitch, over_50.off_mm, *readings.values())),
    )


def _uneven(posed: Posed, mm: Millimetres, scale: Scale, n: IntArray) -> Feed:
    """Return what can be said of the feed of a curled tape: steps against those beside them, and the holes."""
    short, long = odd_steps(n, mm.x_mm[n])
    return msgspec.structs.replace(
        _no_feed(missing("mm", CURLED)),
        short_rows=short,
        long_rows=long,
        diameter_mm=_feed_diameter(posed, mm, scale),
        advanced_mm=_advanced(posed, mm, scale),
    )


def _no_feed(none: Reading) -> Feed:
    return Feed(
        pitch_mm=none,
        scatter_mm=none,
        worst_cumulative_mm=none,
        worst_row=None,
        over_50_mm=none,
        over_50_row=None,
        period_rows=None,
        period_kind=None,
        period_mm=none,
        short_rows=(),
        long_rows=(),
        diameter_mm=none,
        oval_mm=none,
        advanced_mm=none,
        out_of_square_mm=none,
        notes=why_missing((none,)),
    )


def _period_size(period: Period | None, n: int) -> Reading:
    return missing("mm", "") if period is None else Reading(period.size_mm, period.u_mm, "mm", n)


def _scatter(steps: FloatArray, u_white: float) -> Reading:
    scatter = float(np.std(steps, ddof=1))
    return Reading(scatter, float(np.hypot(scatter / np.sqrt(2 * steps.size), 0.3 * u_white)), "mm", steps.size)


def fit_pitch(n: IntArray, x: FloatArray, scale: Scale) -> tuple[Reading, float, float]:
    """Return the pitch, the white position noise and the step noise (mm) of feed holes at rows n, places x."""
    steps = np.diff(x) / np.diff(n)
    centred = steps - np.median(steps)
    white = np.sqrt(_white_variance(centred))
    walk = np.sqrt(max(float(np.var(centred)) - 2 * white**2, 0.0))
    slope = float(np.polyfit(n, x, 1)[0])
    rows = float(n[-1] - n[0] + 1)
    u = np.sqrt(12 * white**2 / (n.size * rows**2) + 1.2 * walk**2 / rows + (slope * scale.relative_u) ** 2)
    return Reading(slope, float(u), "mm", int(n.size), "regression over the run"), float(white), float(walk)


def _white_variance(steps: FloatArray) -> float:
    """Return w^2 from the steps about their median.

    cov(step n, step n+1) = -w^2 + that of the feed's own swing. A swing is smooth over rows, so its part is carried
    over from two and three rows apart (a parabola in the distance); the larger of both answers is the careful one.
    """

    def covariance(apart: int) -> float:
        return float(np.mean(steps[apart:] * steps[:-apart])) if steps.size > apart else 0.0

    swing = (8 * covariance(2) - 3 * covariance(3)) / 5
    half = float(np.var(steps)) / 2
    return max(-covariance(1), min(swing - covariance(1), half), 0.0)


def odd_steps(n: IntArray, x: FloatArray) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return the rows that come too soon and too late after the row before."""
    steps = np.diff(x) / np.diff(n)
    middle = rolling_median(steps, NEAR_STEPS)
    short = n[1:][steps < SHORT_BELOW * middle]
    long = n[1:][(steps > LONG_ABOVE * middle) & (np.diff(n) == 1)]
    return tuple(int(r) for r in short), tuple(int(r) for r in long)


def _feed_diameter(posed: Posed, mm: Millimetres, scale: Scale) -> Reading:
    good = posed.feed_clean
    if good.sum() < 3:
        return missing("mm", "too few whole feed holes")
    return mean_of(diameter_of(posed.feed_area_px[good]) / mm.px_per_mm[good], scale, DIAMETER_FLOOR_PX)


def _oval(posed: Posed, mm: Millimetres, scale: Scale) -> Reading:
    good = posed.feed_clean
    if good.sum() < 3:
        return missing("mm", "too few whole feed holes")
    return mean_of(posed.feed_oval[good] * mm.step_mm[good], scale, DIAMETER_FLOOR_PX)


def _advanced(posed: Posed, mm: Millimetres, scale: Scale) -> Reading:
    clean = posed.states == HoleState.CLEAN
    if clean.sum() < 6:
        return missing("mm", "too few whole code holes")
    ahead = ((posed.u + posed.advance) * mm.step_mm[:, None])[clean]
    return mean_of(ahead, scale, CENTRE_FLOOR_PX)


def _out_of_square(posed: Posed, mm: Millimetres, scale: Scale) -> Reading:
    """Return how far track 5 lies behind track 1, measured square to the feed row."""
    clean = posed.states == HoleState.CLEAN
    if clean.sum() < 12 or (clean.sum(axis=0) > 0).sum() < 3:
        return missing("mm", "too few whole code holes in different tracks")
    row, track = np.nonzero(clean)
    place = posed.places[row, track] + posed.u[clean] * posed.along[row] + posed.v[clean] * posed.across[row]
    along = np.real((place - posed.z[row]) / posed.along[row]) * mm.step_mm[row]
    step = STEP_OF_TRACK[track]
    fit, covariance = np.polyfit(step, along, 1, cov=True)
    u = float(np.hypot(5 * np.sqrt(covariance[0, 0]), CENTRE_FLOOR_PX / scale.value))
    return Reading(float(5 * fit[0]), u, "mm", int(clean.sum()))


@dataclass(frozen=True, slots=True)
class Place:
    """A distance and the row it belongs to, None when it could not be had."""

    off_mm: Reading
    row: int | None


@dataclass(frozen=True, slots=True, eq=False)
class Walk:
    """What is believed of the feed holes' places; shape (n,) both, mm.

    Attributes:
        off: from the even grid.
        u: standard uncertainty of each.
    """

    off: FloatArray
    u: FloatArray


def worst_place(n: IntArray, x: FloatArray, white: float, walk: float) -> Place:
    """Return feed hole that lies farthest from the regression line; rows n, places x, noises as in geometry (mm)."""
    seen = smooth_walk(n, x, white, walk)
    worst = int(np.argmax(np.abs(seen.off)))
    reading = Reading(float(seen.off[worst]), float(seen.u[worst]), "mm", n.size, "reading noise told from the walk")
    return Place(reading, int(n[worst]))


def worst_stretch(n: IntArray, x: FloatArray, white: float, walk: float, scale: Scale) -> Place:
    """Return the 50 steps whose length is farthest from 50 nominal ones."""
    later = np.searchsorted(n, n + STRETCH)
    first = np.flatnonzero(later < n.size)
    first = first[n[later[first]] == n[first] + STRETCH]
    if not first.size:
        return Place(missing("mm", f"fewer than {STRETCH + 1} rows in one piece"), None)
    last = later[first]
    seen = smooth_walk(n, x, white, walk)
    line = np.polyfit(n, x, 1)[0] * STRETCH
    over = seen.off[last] - seen.off[first] + line - STRETCH * GRID_MM
    worst = int(np.argmax(np.abs(over)))
    u = np.sqrt(seen.u[first[worst]] ** 2 + seen.u[last[worst]] ** 2 + (STRETCH * GRID_MM * scale.relative_u) ** 2)
    how = f"{STRETCH} steps against {STRETCH * GRID_MM:g} mm"
    return Place(Reading(float(over[worst]), float(u), "mm", int(first.size), how), int(n[first[worst]]))


def smooth_walk(n: IntArray, x: FloatArray, white: float, walk: float) -> Walk:
    """Tell the walk from the noise of reading; the line through all places is taken out of it."""
    off = x - np.polyval(np.polyfit(n, x, 1), n)
    noise = max(white, 1e-6) ** 2
    # a walk too small to show in this many steps may still be there
    step = walk**2 + 2 * noise * np.sqrt(3 / n.size)
    gaps = np.diff(n, prepend=n[0]).astype(float)
    mean, variance = np.empty(n.size), np.empty(n.size)
    m, v = 0.0, 1.0
    for i in range(n.size):
        v += step * gaps[i]
        gain = v / (v + noise)
        m, v = m + gain * (off[i] - m), (1 - gain) * v
        mean[i], variance[i] = m, v
    for i in range(n.size - 2, -1, -1):
        ahead = variance[i] + step * gaps[i + 1]
        gain = variance[i] / ahead
        mean[i] += gain * (mean[i + 1] - mean[i])
        variance[i] += gain**2 * (variance[i + 1] - ahead)
    mean -= np.polyval(np.polyfit(n, mean, 1), n)
    return Walk(mean, np.sqrt(variance))
