r"""The practice scanner: a punched tape in, a picture with known scale, light and dirt out.

Every pixel asks where on the tape it lies, and how far that is from the nearest edge of paper; within half a pixel
of an edge it is partly paper. So no outline is drawn at any larger scale first:

    openness  1 ------.
                       \        distance from the edge, in pixels: -1/2 .. +1/2
    paper     0         '------
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tapewright.practice.punch import FloatArray, Holes, PunchedTape
from tapewright.reference import five_unit_tape as tape

MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Scanner:
    """How the picture is taken.

    Attributes:
        dpi: dots per inch.
        angle_deg: turn of the tape, clockwise as one sees it.
        mirrored: the tape lies face down.
        bend_mm: how far the middle lies off the straight line between the ends.
        slant: how much smaller the far end is shown than the near one (0.1: a tenth).
        stretch: scale along the scan's y against x (a scanner's axis out of true).
        paper: grey level of the paper.
        behind: grey level seen through the holes.
        ground: grey level beside the tape.
        shade: share by which the light falls off over the picture.
        blur_px: standard deviation of the blur.
        noise: standard deviation of the levels.
        specks: dark specks for a square centimetre.
        margin_mm: ground round the tape.
        lead_mm: paper before the first and behind the last row.
    """

    dpi: float = 300.0
    angle_deg: float = 0.0
    mirrored: bool = False
    bend_mm: float = 0.0
    slant: float = 0.0
    stretch: float = 1.0
    paper: float = 214.0
    behind: float = 38.0
    ground: float = 38.0
    shade: float = 0.0
    blur_px: float = 0.7
    noise: float = 2.0
    specks: float = 0.0
    margin_mm: float = 4.0
    lead_mm: float = 5.0


@dataclass(frozen=True, slots=True, eq=False)
class Scan:
    """A picture with its truth.

    Attributes:
        pixels: shape (height, width), 0 to 255.
        dpi: as the scanner claims.
        rows_px: shape (rows, 2), x and y in the picture of each row on the feed line.
    """

    pixels: npt.NDArray[np.uint8]
    dpi: float
    rows_px: FloatArray


@dataclass(frozen=True, slots=True)
class _View:
    """The way from tape millimetres to picture pixels and back; `scanner` with the tape's extent."""

    scanner: Scanner
    left: float
    right: float
    top: float
    bottom: float

    def flat(self, x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return places on the glass, mm, the tape's middle at 0."""
        s, half = self.scanner, (self.right - self.left) / 2
        x, y = x - (self.left + self.right) / 2, y - (self.top + self.bottom) / 2
        y = -y if s.mirrored else y
        y = y + s.bend_mm * (1 - (x / half) ** 2)
        shrink = 1 + s.slant / 2 * x / half
        x, y = x / shrink, y / shrink
        turn = np.deg2rad(s.angle_deg)
        return x * np.cos(turn) - y * np.sin(turn), s.stretch * (x * np.sin(turn) + y * np.cos(turn))

    def tape(self, x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return places on the tape, mm, of places on the glass."""
        s, half = self.scanner, (self.right - self.left) / 2
        turn = np.deg2rad(s.angle_deg)
        y = y / s.stretch
        x, y = x * np.cos(turn) + y * np.sin(turn), -x * np.sin(turn) + y * np.cos(turn)
        shrink = 1 / (1 - s.slant / 2 * x / half)
        x, y = x * shrink, y * shrink
        y = y - s.bend_mm * (1 - (x / half) ** 2)
        y = -y if s.mirrored else y
        return x + (self.left + self.right) / 2, y + (self.top + self.bottom) / 2


def scan_tape(punched: PunchedTape, scanner: Scanner, rng: np.random.Generator) -> Scan:
    """Take a picture of a punched tape."""
    top = -tape.FEED_TO_TWO_HOLE_EDGE_MM - punched.guide_mm
    view = _View(scanner, -scanner.lead_mm, punched.length_mm + scanner.lead_mm, top, top + tape.WIDTH_MM)
    px = scanner.dpi / MM_PER_INCH
    along = np.linspace(view.left, view.right, 65)
    ends = [view.flat(along, np.full_like(along, y)) for y in (view.top, view.bottom)]
    x0 = min(float(x.min()) for x, _ in ends) - scanner.margin_mm
    y0 = min(float(y.min()) for _, y in ends) - scanner.margin_mm
    width = int(np.ceil((max(float(x.max()) for x, _ in ends) + scanner.margin_mm - x0) * px))
    height = int(np.ceil((max(float(y.max()) for _, y in ends) + scanner.margin_mm - y0) * px))
    picture = np.empty((height, width), np.float32)
    for low in range(0, height, 64):
        high = min(low + 64, height)
        gx, gy = np.meshgrid((np.arange(width) + 0.5) / px + x0, (np.arange(low, high) + 0.5) / px + y0)
        tx, ty = view.tape(gx, gy)
        inside = np.minimum(np.minimum(tx - view.left, view.right - tx), np.minimum(ty - view.top, view.bottom - ty))
        picture[low:high] = scanner.ground + (scanner.paper - scanner.ground) * np.clip(inside * px + 0.5, 0, 1)
    for place in _hole_patches(punched.holes, view, (x0, y0), px, picture.shape):
        _cut_out(picture, punched.holes, view, (x0, y0), px, place, scanner.behind)
    zero = np.zeros_like(punched.rows_x)
    rx, ry = view.flat(punched.rows_x, zero)
    rows = np.stack([(rx - x0) * px - 0.5, (ry - y0) * px - 0.5], 1)
    return Scan(_exposed(picture, scanner, px, rng), scanner.dpi, rows)


def _hole_patches(
    holes: Holes, view: _View, zero: tuple[float, float], px: float, shape: tuple[int, ...]
) -> list[tuple[int, slice, slice]]:
    """Return for each hole the part of the picture it can lie in."""
    cx, cy = view.flat(holes.x, holes.y)
    reach = (holes.diameter / 2 + np.abs(holes.stretch)) * 1.15 * px + 2
    found = []
    for n in range(holes.x.size):
        x, y = (cx[n] - zero[0]) * px, (cy[n] - zero[1]) * px
        rows = slice(max(0, int(y - reach[n])), min(shape[0], int(y + reach[n]) + 1))
        columns = slice(max(0, int(x - reach[n])), min(shape[1], int(x + reach[n]) + 1))
        found.append((n, rows, columns))
    return found


def _cut_out(
    picture: npt.NDArray[np.float32], holes: Holes, view: _View, zero: tuple[float, float], px: float,
    place: tuple[int, slice, slice], behind: float,
) -> None:  # fmt: skip
    n, rows, columns = place
    gx, gy = np.meshgrid((np.arange(columns.start, columns.stop) + 0.5) / px + zero[0],
                         (np.arange(rows.start, rows.stop) + 0.5) / px + zero[1])  # fmt: skip
    tx, ty = view.tape(gx, gy)
    dx, dy = tx - holes.x[n], ty - holes.y[n]
    radius, pull = holes.diameter[n] / 2, holes.stretch[n]
    # a hole pulled to one side is a disc swept along that way
    swept = dx - np.clip(dx, min(pull, 0.0), max(pull, 0.0))
    depth = radius - np.hypot(swept, dy)
    if holes.hinge[n] < 1:
        beyond = dx * np.cos(holes.turn[n]) + dy * np.sin(holes.turn[n])
        depth = np.minimum(depth, holes.hinge[n] * radius - beyond)
    open_ = np.clip(depth * px + 0.5, 0, 1).astype(np.float32)
    part = picture[rows, columns]
    part += (behind - part) * open_


def _exposed(
    picture: npt.NDArray[np.float32], scanner: Scanner, px: float, rng: np.random.Generator
) -> npt.NDArray[np.uint8]:
    import cv2

    height, width = picture.shape
    for _ in range(round(scanner.specks * height * width / px**2 / 100)):
        x, y, r = rng.uniform(0, width), rng.uniform(0, height), rng.uniform(0.05, 0.25) * px
        cv2.circle(picture, (round(x), round(y)), max(1, round(r)), rng.uniform(40, 120), -1)
    if scanner.shade:
        picture = picture * (1 - scanner.shade * np.linspace(0, 1, width, dtype=np.float32))
    if scanner.blur_px:
        picture = np.asarray(cv2.GaussianBlur(picture, (0, 0), scanner.blur_px), np.float32)
    noisy = picture + np.float32(scanner.noise) * rng.standard_normal(picture.shape, np.float32)
    return np.clip(np.rint(noisy), 0, 255).astype(np.uint8)
