"""A picture of tape as its page draws it: parts of it, its strips laid straight, single holes."""

import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from tapewright.book.entry import Entry
from tapewright.book.ports import Book
from tapewright.errors import InputError
from tapewright.pictures.decode import read_picture

Points = npt.NDArray[np.complex128]

#: Steps across from the feed row to each track: the feed holes lie between tracks 2 and 3.
STEPS = {1: -2, 2: -1, 3: 1, 4: 2, 5: 3}
FIRST_STEP, LAST_STEP = -3.0, 4.0
#: Rows on either side over which single steps are smoothed.
REACH = 12


@dataclass(frozen=True, slots=True, eq=False)
class StraightGrid:
    """The even grid of one strip.

    Attributes:
        centre: shape (n,), c of each row, complex pixels.
        across: shape (n,), C of each row.
    """

    centre: Points
    across: Points

    def at(self, row: npt.NDArray[np.float64], step: npt.NDArray[np.float64]) -> Points:
        """Return the places in the picture; beyond the ends the grid goes on as it ended. Shapes go together."""
        n = self.centre.size
        known = np.arange(n, dtype=float)
        inside = np.clip(row, 0, n - 1)
        out = np.interp(inside, known, self.centre.real) + 1j * np.interp(inside, known, self.centre.imag)
        ahead = np.where(row < 0, self.centre[1] - self.centre[0], self.centre[-1] - self.centre[-2])
        across = np.interp(inside, known, self.across.real) + 1j * np.interp(inside, known, self.across.imag)
        return np.asarray(out + (row - inside) * ahead + step * across)


def straight_grid(rows: list[Mapping[str, Any]]) -> StraightGrid:
    """Fit the even grid to the rows of a strip; at least two rows."""
    feed = np.array([complex(row["x_px"], row["y_px"]) for row in rows], np.complex128)
    span = np.array([_at(row, 5) - _at(row, 1) for row in rows], np.complex128)
    return StraightGrid(smooth(feed), smooth(span / (STEPS[5] - STEPS[1])))


def smooth(values: Points) -> Points:
    """Return the running mean over REACH values on either side; beyond the ends they go on as mirrored through them."""
    reach = min(REACH, values.size - 1)
    padded = np.pad(values, reach, mode="reflect", reflect_type="odd")
    return np.convolve(padded, np.full(2 * reach + 1, 1 / (2 * reach + 1)), mode="valid")


def _at(row: Mapping[str, Any], track: int) -> complex:
    hole = row["holes"][track - 1]
    return complex(hole["x_px"], hole["y_px"])


Pixels = npt.NDArray[np.uint8]
#: Sides of what is sent: large enough for any screen, small enough to be made at once.
LARGEST_SIDE, QUALITY = 2400, 85
#: How far a close-up of a hole reaches from its place in the grid, in steps.
CLOSE_UP = 0.85
GRID_INK = (96, 122, 168)


@dataclass(frozen=True, slots=True, eq=False)
class TapeStudy:
    """The pixels, on disk, and the grids of the strips.

    Attributes:
        pixels: shape (height, width) or (height, width, 3), mapped from a file.
        path: that file.
        grids: one for each strip.
        size_bytes: what it takes.
    """

    pixels: Pixels
    path: Path
    grids: tuple[StraightGrid, ...]
    size_bytes: int

    def close(self) -> None:
        """Take the pixels off the disk."""
        self.path.unlink(missing_ok=True)

    def part(self, left: float, top: float, width: float, height: float, columns: int) -> bytes:
        """Return a part of the picture, `columns` wide, as JPEG; what lies outside is left out."""
        x0, y0 = (max(0, int(np.floor(value))) for value in (left, top))
        x1 = min(self.pixels.shape[1], int(np.ceil(left + width)))
        y1 = min(self.pixels.shape[0], int(np.ceil(top + height)))
        if x1 <= x0 or y1 <= y0:
            raise InputError("the picture", expected="a part of it", found="a place outside of it")
        scale = min(columns, LARGEST_SIDE) / (x1 - x0)
        size = (max(1, round((x1 - x0) * scale)), min(LARGEST_SIDE, max(1, round((y1 - y0) * scale))))
        way = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
        return _jpeg(cv2.resize(np.ascontiguousarray(self.pixels[y0:y1, x0:x1]), size, interpolation=way))

    def straight(self, strip: int, first: int, rows: int, step_px: int) -> bytes:
        """Return some rows laid straight with the grid drawn on, one step `step_px` pixels, as JPEG."""
        grid = self._grid(strip)
        columns, lines = rows * step_px, round((LAST_STEP - FIRST_STEP) * step_px)
        row = first - 0.5 + (np.arange(columns) + 0.5) / step_px
        step = FIRST_STEP + (np.arange(lines) + 0.5) / step_px
        out = self._looked_up(grid.at(row[None, :], step[:, None]))
        for n in range(rows):
            x = round((n + 0.5) * step_px)
            cv2.line(out, (x, 0), (x, lines), GRID_INK, 1)
        for k in (*STEPS.values(), 0):
            y = round((k - FIRST_STEP) * step_px)
            cv2.line(out, (0, y), (columns, y), GRID_INK, 1)
        return _jpeg(out)

    def hole(self, strip: int, row: int, track: int, side: int) -> bytes:
        """Return one place of the grid close up, `side` pixels square, the tape running to the right, as JPEG."""
        grid = self._grid(strip)
        if not 0 <= row < grid.centre.size or track not in STEPS:
            raise InputError("the picture", expected="a row and a track of it", found=f"row {row}, track {track}")
        off = CLOSE_UP * (2 * (np.arange(side) + 0.5) / side - 1)
        return _jpeg(self._looked_up(grid.at(row + off[None, :], STEPS[track] + off[:, None])))

    def _grid(self, strip: int) -> StraightGrid:
        if not 0 <= strip < len(self.grids):
            raise InputError("the picture", expected=f"one of {len(self.grids)} strips", found=f"strip {strip + 1}")
        return self.grids[strip]

    def _looked_up(self, places: npt.NDArray[np.complex128]) -> Pixels:
        """Return the picture at these places, shape as they have, always in colour."""
        x0, y0 = (max(0, int(part.min()) - 2) for part in (places.real, places.imag))
        x1, y1 = (int(part.max()) + 3 for part in (places.real, places.imag))
        near = np.ascontiguousarray(self.pixels[y0:y1, x0:x1])
        if not near.size:
            return np.full((*places.shape, 3), 255, np.uint8)
        x, y = (places.real - x0).astype(np.float32), (places.imag - y0).astype(np.float32)
        out = cv2.remap(near, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=(255, 255, 255))
        return np.asarray(out if out.ndim == 3 else cv2.cvtColor(out, cv2.COLOR_GRAY2BGR), np.uint8)


def study_tape(book: Book, entry: Entry, folder: Path) -> TapeStudy:
    """Make it from the raw file in the book.

    Raises:
        InputError: when the entry is no tape evidence with its raw file.
    """
    result = entry.new.body.get("result", {})
    sha256 = result.get("source", {}).get("sha256")
    if entry.new.body.get("sort") != "tape" or sha256 not in entry.new.files:
        raise InputError("the book", expected="a tape picture with its raw file", found=f"line {entry.key[:12]}")
    raw = folder / "raw"
    try:
        with book.raw(sha256) as source, raw.open("wb") as copy:
            shutil.copyfileobj(source, copy, 1 << 22)
        return study_picture(result, read_picture(raw).picture.pixels, folder)
    finally:
        raw.unlink(missing_ok=True)


def study_picture(result: Mapping[str, Any], pixels: Pixels, folder: Path) -> TapeStudy:
    """Put the pixels on disk and fit the grids."""
    path = folder / "pixels.npy"
    np.save(path, pixels)
    grids = tuple(straight_grid(strip["rows"]) for strip in result["strips"])
    return TapeStudy(np.load(path, mmap_mode="r"), path, grids, pixels.nbytes)


def _jpeg(pixels: npt.NDArray[Any]) -> bytes:
    done, data = cv2.imencode(".jpg", pixels, (cv2.IMWRITE_JPEG_QUALITY, QUALITY))
    if not done:
        raise InputError("the picture", expected="a part that can be shown", found=f"{pixels.shape}")
    return data.tobytes()
