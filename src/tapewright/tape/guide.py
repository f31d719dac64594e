r"""How the tape ran in its guide: the width of the paper, and the feed line's distance from the three-hole edge.

The edges of the tape are found half way between rows, where no hole lies, as the steepest place of the grey profile.

grey  ____________
paper             \
                       \______   ground
feed line ...|....  3.92 steps (three-hole side) or 2.95 steps (two-hole side) from the feed line
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter1d, uniform_filter1d

from tapewright.number import Reading, missing
from tapewright.pictures.picture import FloatArray, GreyArray, IntArray
from tapewright.reference.five_unit_tape import FEED_TO_THREE_HOLE_EDGE_MM, FEED_TO_TWO_HOLE_EDGE_MM, GRID_MM
from tapewright.tape.document import Guide
from tapewright.tape.geometry import SLANTED, Millimetres, why_missing
from tapewright.tape.pose import Posed
from tapewright.tape.scale import Scale

#: An edge is looked for this many steps to either side of its nominal place.
REACH_STEPS = 0.45
SAMPLES_A_STEP = 40
MOST_ROWS, FEWEST_ROWS = 80, 6
#: The places in single rows must agree to this many steps, and the edge must stand out by so many grey levels.
AGREE_STEPS, LEAST_LEVELS = 0.08, 8.0
#: Slopes are looked at with a normal curve of this width, in steps or pixels, whichever is more, over so many rows
#: together. What is at least so steep against the steepest place is an edge; a line runs along it when so many of the
#: rows show its other side.
FINEST_STEPS, EDGE_PX, ROWS_TOGETHER, STEEP_SHARE, LINED_FROM = 0.02, 0.7, 5, 0.12, 0.3
#: Doubt of an edge's place that does not average out: the raster, and the shadow along the edge.
FLOOR_PX = 0.15
#: The same where light comes round the edge of a tape that is lit from behind (measured on drawn tapes).
LEAK_PX = 0.8
NO_EDGES = "the edges of the tape do not stand out: lay it on a ground of another shade, with both edges in the picture"


@dataclass(frozen=True, slots=True)
class TapeEdges:
    """Where the edges of the paper lie.

    Attributes:
        width_px: distance of both edges, None where one of them is not seen.
        feed_to_edge_steps: feed line to the three-hole edge, in grid steps across where it was seen; None where not.
        lined: whether a shadow or a drawn line runs along an edge: its place is known less well then.
    """

    width_px: Reading | None
    feed_to_edge_steps: Reading | None
    lined: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class _Edge:
    """One edge at each of some rows: place in steps from the feed line, NaN where none stands out; doubt, steps."""

    place: FloatArray
    line_u: float


def measure_edges(grey: GreyArray, posed: Posed, *, light: bool) -> TapeEdges:
    """Measure both edges of a strip square to its feed row; `light` says whether holes are lighter than the paper.

    two-hole edge  ---------------------------
    feed line      .  .  .  .  .  .  .  .  .     ^ feed_to_edge_steps
    three-hole edge ---------------------------   v
    """
    n = np.arange(posed.rows - 1)
    if n.size < FEWEST_ROWS:
        return TapeEdges(None, None)
    n = n[:: max(1, n.size // MOST_ROWS)]
    far = _edge(grey, posed, n, FEED_TO_THREE_HOLE_EDGE_MM / GRID_MM, light=light)
    near = _edge(grey, posed, n, -FEED_TO_TWO_HOLE_EDGE_MM / GRID_MM, light=light)
    # a row out of square runs slantwise to the edge: what counts is the way square to the feed row
    step_px = np.abs((posed.across[n] / posed.along[n]).imag) * np.abs(posed.along[n])
    px = float(np.mean(step_px))
    lines = float(np.hypot(far.line_u, near.line_u)) * px
    width = _agreed((far.place - near.place) * step_px, px, "px", "distance of the edges between rows", 1.0, lines)
    # that an edge is found from one side only, and the feed line by other means, leaves some of a pixel
    edge = _agreed(far.place, 1.0, "steps", "edge between rows, feed line through the feed holes", px, far.line_u)
    return TapeEdges(width, edge, far.line_u + near.line_u > 0)


def _agreed(places: FloatArray, step: float, unit: str, how: str, px: float, line_u: float) -> Reading | None:
    """Return the median of places of an edge, None where too few are known or they do not agree."""
    known = np.isfinite(places)
    if known.sum() < FEWEST_ROWS or known.mean() < 0.4:
        return None
    middle = float(np.median(places[known]))
    spread = 1.4826 * float(np.median(np.abs(places[known] - middle)))
    if spread > AGREE_STEPS * step:
        return None
    u = float(np.sqrt((1.25 * spread) ** 2 / known.sum() + (FLOOR_PX / px) ** 2 + line_u**2))
    return Reading(middle, u, unit, int(known.sum()), how)


def _edge(grey: GreyArray, posed: Posed, n: np.ndarray, nominal: float, *, light: bool) -> _Edge:
    r"""Find one edge of the paper: the innermost steep place, with the line that may run along it.

    Picture:
    paper ______            ______ lid     a shadow begins where the paper ends, a drawn outline has its middle there:
                \          /               the edge lies between the line's inner side and its middle
                 \________/
    """
    out = 1.0 if nominal > 0 else -1.0
    v = nominal + out * np.arange(-REACH_STEPS, REACH_STEPS, 1 / SAMPLES_A_STEP)
    base = (posed.z[n] + posed.z[n + 1]) / 2
    points = base[:, None] + v * posed.across[n][:, None]
    x, y = points.real.astype(np.float32), points.imag.astype(np.float32)
    inside = ((x >= 0) & (y >= 0) & (x < grey.shape[1] - 1) & (y < grey.shape[0] - 1)).all(axis=1)
    profile = _looked_up(grey, x, y)
    # the edge runs along the strip: rows next to each other show it at one place, and their noise goes out
    profile = uniform_filter1d(profile, ROWS_TOGETHER, axis=0, mode="nearest")
    width = max(FINEST_STEPS, EDGE_PX / float(np.median(np.abs(posed.across[n])))) * SAMPLES_A_STEP
    slope = gaussian_filter1d(profile, width, axis=1, order=1, mode="nearest")
    height = np.abs(slope) * width * np.sqrt(2 * np.pi)  # of a step, in grey levels
    steep = height > np.maximum(LEAST_LEVELS, STEEP_SHARE * height.max(axis=1, keepdims=True))
    top = steep & (height >= np.roll(height, 1, axis=1)) & (height > np.roll(height, -1, axis=1))
    top[:, 0] = top[:, -1] = False
    first = np.argmax(top, axis=1)
    row = np.arange(n.size)
    place = _middle(height, first, width, v)
    # a line has another steep side, the other way
    back = top & (np.sign(slope) == -np.sign(slope[row, first])[:, None])
    back &= np.arange(v.size) > first[:, None]
    lined = back.any(axis=1)
    across = np.where(lined, np.abs(_middle(height, np.argmax(back, axis=1), width, v) - place), np.nan)
    known = inside & top.any(axis=1)
    place = np.where(known, place, np.nan)
    if not known.any():
        return _Edge(place, 0.0)
    # ground on the other side of paper than the holes: the light that comes through the holes comes round the edge too
    through = (float(np.median(slope[row, first][known])) > 0) is not light
    leak = LEAK_PX / float(np.median(np.abs(posed.across[n]))) if through else 0.0
    if float(np.mean(lined[known])) < LINED_FROM:
        return _Edge(place, leak)
    quarter = float(np.nanmedian(across[known])) / 4
    return _Edge(place + out * quarter, float(np.hypot(quarter, leak)))


def _middle(height: FloatArray, at: IntArray, width: float, v: FloatArray) -> FloatArray:
    """Return the middle of the steep stretch about `at`, weighted by how steep it is; shape (rows,)."""
    near = np.abs(np.arange(v.size) - at[:, None]) <= max(2.0, width)
    weight = np.where(near, height, 0.0)
    return np.asarray((weight @ v) / np.maximum(weight.sum(axis=1), 1e-9))


def _looked_up(grey: GreyArray, x: npt.NDArray[np.float32], y: npt.NDArray[np.float32]) -> FloatArray:
    """Return the grey levels at places, shape as they have, between pixels linearly."""
    left, top = max(int(x.min()), 0), max(int(y.min()), 0)
    part = grey[top : max(int(y.max()) + 2, top + 1), left : max(int(x.max()) + 2, left + 1)]
    if not part.size:
        return np.zeros(x.shape)
    whole_x, whole_y = (np.clip(axis - low, 0, size - 1.001) for axis, low, size in
                        ((x, left, part.shape[1]), (y, top, part.shape[0])))  # fmt: skip
    i, j = whole_x.astype(int), whole_y.astype(int)
    i2, j2 = np.minimum(i + 1, part.shape[1] - 1), np.minimum(j + 1, part.shape[0] - 1)
    a, b = whole_x - i, whole_y - j
    upper, lower = (part[line, i] * (1 - a) + part[line, i2] * a for line in (j, j2))
    return np.asarray(upper * (1 - b) + lower * b)


def measure_guide(edges: TapeEdges | None, mm: Millimetres, scale: Scale) -> Guide:
    """Measure width and guide offset of one strip; `edges` is None when the picture is not flat."""
    width, edge = missing("mm", SLANTED if edges is None else NO_EDGES), missing("mm", SLANTED)
    if edges is not None and edges.width_px is not None:
        if scale.source == "tape width":
            width = missing("mm", "the scale was taken from the tape's width; give --dpi to measure it")
        else:
            width = _in_mm(edges.width_px, 1 / scale.value, scale)
    if edges is not None:
        seen = edges.feed_to_edge_steps
        edge = missing("mm", NO_EDGES) if seen is None else _in_mm(seen, float(np.median(mm.track_mm)), scale)
    off = edge
    if edge.value is not None:
        off = Reading(FEED_TO_THREE_HOLE_EDGE_MM - edge.value, edge.u, "mm", edge.n, "9.96 mm less the edge")
    return Guide(width_mm=width, feed_to_three_hole_edge_mm=edge, off_mm=off, notes=why_missing((width, edge, off)))


def _in_mm(reading: Reading, mm_each: float, scale: Scale) -> Reading:
    value, u = (reading.value or 0.0) * mm_each, (reading.u or 0.0) * mm_each
    return Reading(value, float(np.hypot(u, value * scale.relative_u)), "mm", reading.n, reading.how)
