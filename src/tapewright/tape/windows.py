"""Small straightened windows round every position of the grid, cut out of the grey picture in one go.

window of track step k in row n: v across
. . . . . . .
. paper ring .        radius 0.43 to 0.56 of a grid step: paper, whatever is punched beside it
.  (  hole )  .       radius up to 0.50: where a hole of this position can be (0.36 nominal)
. . . . . . .   u along
"""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from tapewright.pictures.picture import FloatArray, GreyArray, Levels, to_level
from tapewright.tape.grid import STEPS, Grid

#: Samples for one grid step, and samples from the middle of a window to its edge.
SAMPLES = 24
REACH = 14
SIDE = 2 * REACH + 1
ROWS_AT_ONCE = 128

_U = np.arange(-REACH, REACH + 1) / SAMPLES
U, V = (axis.ravel() for axis in np.meshgrid(_U, _U))
RADIUS = np.hypot(U, V)
RING = (RADIUS > 0.43) & (RADIUS < 0.57)
HOLE = RADIUS < 0.50
CORE = RADIUS < 0.15
WHOLE, FEED_WHOLE = RADIUS < 0.48, RADIUS < 0.34
INNER, FEED_INNER = RADIUS < 0.30, RADIUS < 0.18
#: Samples just inside and just outside the outline of a nominal hole, at the same 24 angles.
_TURN = np.arange(24) * (2 * np.pi / 24)
WITHIN_RIM, BEYOND_RIM, FEED_WITHIN, FEED_BEYOND = (
    ((REACH + np.rint(r * SAMPLES * np.sin(_TURN))) * SIDE + REACH + np.rint(r * SAMPLES * np.cos(_TURN))).astype(int)
    for r in (0.27, 0.46, 0.15, 0.34)
)


@dataclass(frozen=True, slots=True, eq=False)
class Windows:
    """Grey levels round every position.

    Attributes:
        grey: shape (rows, 7, SIDE * SIDE), for track steps -3 to 3; outside the picture the level 0.
        inside: shape (rows, 7), whether the whole hole lies in the picture.
    """

    grey: GreyArray
    inside: np.ndarray


def cut_windows(levels: Levels, strip: Grid, steps: Sequence[int] = STEPS) -> Windows:
    """Cut the windows of these track steps from the level in which a grid step is nearest to SAMPLES pixels."""
    factor = 1.0
    while strip.pitch_px * factor > 1.5 * SAMPLES:
        factor /= 2
    source = levels.at(factor)
    grey = np.empty((strip.rows, len(steps), SIDE * SIDE), np.uint8)
    for low in range(0, strip.rows, ROWS_AT_ONCE):
        _cut_rows(source, factor, strip, slice(low, low + ROWS_AT_ONCE), grey, steps)
    places = np.stack([strip.place(k) for k in steps], 1)
    reach = 0.40 * np.abs(strip.along)[:, None]
    height, width = levels.grey.shape
    inside = (places.real > reach) & (places.imag > reach) & (places.real < width - 1 - reach)
    return Windows(grey, inside & (places.imag < height - 1 - reach))


def _cut_rows(
    source: GreyArray, factor: float, strip: Grid, rows: slice, out: GreyArray, steps: Sequence[int]
) -> None:
    places = to_level(np.stack([strip.place(k) for k in steps], 1)[rows], factor)[..., None]
    step = np.asarray(steps)[None, :, None]
    along, bow = factor * strip.along[rows, None, None], factor * strip.bow[rows, None, None]
    across = factor * strip.across[rows, None, None] + 2 * step * bow
    u, v = U.astype(np.float32), V.astype(np.float32)
    x, y = (
        part(places).astype(np.float32) + u * part(along).astype(np.float32) + v * part(across).astype(np.float32)
        for part in (np.real, np.imag)
    )
    # cut out the part that is needed: a remap is quick on small sources, and has a limit of 32,767 pixels a side
    left, top = int(np.floor(x.min())) - 2, int(np.floor(y.min())) - 2
    left, top = max(left, 0), max(top, 0)
    right, bottom = int(x.max()) + 3, int(y.max()) + 3
    part = source[top : max(bottom, top + 1), left : max(right, left + 1)]
    if not part.size or max(part.shape) >= 32767:
        out[rows] = 0
        return
    x -= left
    y -= top
    flat = (x.shape[0] * x.shape[1], SIDE * SIDE)
    way = cv2.BORDER_CONSTANT
    seen = cv2.remap(part, x.reshape(flat), y.reshape(flat), cv2.INTER_LINEAR, borderMode=way, borderValue=0)
    out[rows] = seen.reshape(x.shape)


def ring_and_core(windows: Windows) -> tuple[FloatArray, FloatArray]:
    """Return paper's level beside each position (median of the ring) and the level in its middle; shape (rows, 7)."""
    paper = np.median(windows.grey[..., RING], axis=-1).astype(float)
    core = windows.grey[..., CORE].mean(axis=-1)
    return paper, core
