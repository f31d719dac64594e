r"""The edges of the tape: found half way between rows, where no hole lies, as the steepest place of the grey profile.

grey  ____________
paper             \
                       \______   ground
feed line ...|....  3.92 steps (three-hole side) or 2.95 steps (two-hole side) from the feed line
"""

from dataclasses import dataclass

import numpy as np

from tapewright.number import Reading
from tapewright.pictures.picture import FloatArray, GreyArray
from tapewright.reference.five_unit_tape import FEED_TO_THREE_HOLE_EDGE_MM, FEED_TO_TWO_HOLE_EDGE_MM, GRID_MM
from tapewright.tape.posed import Posed

#: An edge is looked for this many steps to either side of its nominal place.
REACH_STEPS = 0.45
SAMPLES_A_STEP = 40
MOST_ROWS, FEWEST_ROWS = 80, 6
#: The places in single rows must agree to this many steps, and the edge must stand out by so many grey levels.
AGREE_STEPS, LEAST_LEVELS = 0.08, 8.0
#: Doubt of an edge's place that does not average out: the raster, and the shadow along the edge.
FLOOR_PX = 0.1


@dataclass(frozen=True, slots=True)
class TapeEdges:
    """Where the edges of the paper lie.

    Attributes:
        width_px: distance of both edges, None where one of them is not seen.
        feed_to_edge_steps: feed line to the three-hole edge, in grid steps across where it was seen; None where not.
    """

    width_px: Reading | None
    feed_to_edge_steps: Reading | None


def measure_edges(grey: GreyArray, posed: Posed) -> TapeEdges:
    """Measure both edges of a strip square to its feed row.

    two-hole edge  ---------------------------
    feed line      .  .  .  .  .  .  .  .  .     ^ feed_to_edge_steps
    three-hole edge ---------------------------   v
    """
    n = np.arange(posed.rows - 1)
    if n.size < FEWEST_ROWS:
        return TapeEdges(None, None)
    n = n[:: max(1, n.size // MOST_ROWS)]
    far = _edge(grey, posed, n, FEED_TO_THREE_HOLE_EDGE_MM / GRID_MM)
    near = _edge(grey, posed, n, -FEED_TO_TWO_HOLE_EDGE_MM / GRID_MM)
    # a row out of square runs slantwise to the edge: what counts is the way square to the feed row
    step_px = np.abs((posed.across[n] / posed.along[n]).imag) * np.abs(posed.along[n])
    width = _agreed((far - near) * step_px, float(np.mean(step_px)), "px", "distance of the edges between rows")
    # that an edge is found from one side only, and the feed line by other means, leaves a tenth of a pixel
    edge = _agreed(far, 1.0, "steps", "edge between rows, feed line through the feed holes", float(np.mean(step_px)))
    return TapeEdges(width, edge)


def _agreed(places: FloatArray, step: float, unit: str, how: str, px: float = 1.0) -> Reading | None:
    """Return the median of places of an edge, None where too few are known or they do not agree."""
    known = np.isfinite(places)
    if known.sum() < FEWEST_ROWS or known.mean() < 0.4:
        return None
    middle = float(np.median(places[known]))
    spread = 1.4826 * float(np.median(np.abs(places[known] - middle)))
    if spread > AGREE_STEPS * step:
        return None
    u = float(np.hypot(1.25 * spread / np.sqrt(known.sum()), FLOOR_PX / px))
    return Reading(middle, u, unit, int(known.sum()), how)


def _edge(grey: GreyArray, posed: Posed, n: np.ndarray, nominal: float) -> FloatArray:
    """Return place of an edge in steps from the feed line for rows n, NaN where none stands out; shape (len(n),)."""
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
