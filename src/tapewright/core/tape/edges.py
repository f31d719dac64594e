r"""The edges of the tape: found half way between rows, where no hole lies, as the steepest place of the grey profile.

grey  ____________
paper             \
                       \______   ground
feed line ...|....  3.92 steps (three-hole side) or 2.95 steps (two-hole side) from the feed line
"""

import numpy as np

from tapewright.core.measurement import Reading
from tapewright.core.reference.five_unit_tape import (
    FEED_TO_THREE_HOLE_EDGE_MM,
    FEED_TO_TWO_HOLE_EDGE_MM,
    GRID_MM,
)
from tapewright.core.tape.picture import FloatArray, GreyArray
from tapewright.core.tape.posed import Posed

#: An edge is looked for this many steps to either side of its nominal place.
REACH_STEPS = 0.45
SAMPLES_A_STEP = 40
MOST_ROWS, FEWEST_ROWS = 80, 6
#: The places in single rows must agree to this many steps, and the edge must stand out by so many grey levels.
AGREE_STEPS, LEAST_LEVELS = 0.08, 8.0


def measure_width(grey: GreyArray, posed: Posed) -> Reading | None:
    """Give the tape's width in pixels where both edges are seen; None where they are not."""
    n = np.arange(posed.rows - 1)
    if n.size < FEWEST_ROWS:
        return None
    n = n[:: max(1, n.size // MOST_ROWS)]
    far = _edge(grey, posed, n, FEED_TO_THREE_HOLE_EDGE_MM / GRID_MM)
    near = _edge(grey, posed, n, -FEED_TO_TWO_HOLE_EDGE_MM / GRID_MM)
    width = (far - near) * np.abs(posed.across[n])
    known = np.isfinite(width)
    if known.sum() < FEWEST_ROWS or known.mean() < 0.4:
        return None
    middle = float(np.median(width[known]))
    spread = 1.4826 * float(np.median(np.abs(width[known] - middle)))
    if spread > AGREE_STEPS * float(np.mean(np.abs(posed.across))):
        return None
    u = float(np.hypot(1.25 * spread / np.sqrt(known.sum()), 0.1))
    return Reading(middle, u, "px", int(known.sum()), "distance of the edges between rows")


def _edge(grey: GreyArray, posed: Posed, n: np.ndarray, nominal: float) -> FloatArray:
    """Give the place of an edge in steps from the feed line for rows n, NaN where none stands out; shape (len(n),)."""
    v = nominal + np.arange(-REACH_STEPS, REACH_STEPS, 1 / SAMPLES_A_STEP)
    base = (posed.z[n] + posed.z[n + 1]) / 2
    points = base[:, None] + v * posed.across[n][:, None]
    x, y = np.rint(points.real).astype(int), np.rint(points.imag).astype(int)
    inside = ((x >= 0) & (y >= 0) & (x < grey.shape[1]) & (y < grey.shape[0])).all(axis=1)
    profile = grey[np.clip(y, 0, grey.shape[0] - 1), np.clip(x, 0, grey.shape[1] - 1)].astype(float)
    reach = SAMPLES_A_STEP // 8
    slope = np.abs(profile[:, 2 * reach :] - profile[:, : -2 * reach])
    best = np.argmax(slope, axis=1)
    height = slope[np.arange(n.size), best]
    # the middle of the steep stretch, weighted by how steep it is
    near = np.abs(np.arange(slope.shape[1]) - best[:, None]) <= reach
    weight = np.where(near, slope, 0.0)
    place = (weight @ v[reach:-reach]) / np.maximum(weight.sum(axis=1), 1e-9)
    return np.asarray(np.where(inside & (height > LEAST_LEVELS), place, np.nan))
