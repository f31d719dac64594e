r"""Pitch added up: the feed hole farthest from the even grid, and the worst stretch of 50 steps.

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

import numpy as np

from tapewright.number import Reading, missing
from tapewright.pictures.picture import FloatArray, IntArray
from tapewright.reference.five_unit_tape import GRID_MM
from tapewright.tape.scale import Scale

STRETCH = 50


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
