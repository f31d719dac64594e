"""A strip in reading order: rows from the beginning, tracks 1 to 5, everything turned to face up."""

from dataclasses import dataclass

import numpy as np

from tapewright.pictures.picture import BoolArray, FloatArray, Points
from tapewright.reference.five_unit_tape import TRACK_STEPS
from tapewright.tape.holes import FEED, marked
from tapewright.tape.rows import Rows, columns_of

STEP_OF_TRACK = np.array(TRACK_STEPS)


@dataclass(frozen=True, slots=True, eq=False)
class Posed:
    """Arrays in reading order; n rows, tracks 1 to 5.

    Lengths are in grid steps; u along towards later rows, v towards track 5.

    Attributes:
        z: shape (n,), feed hole centres, pixels of the picture.
        found: shape (n,), whether the feed hole was seen.
        along: shape (n,), one grid step towards later rows, complex pixels.
        across: shape (n,), one grid step towards track 5, complex pixels.
        places: shape (n, 5), where the grid puts the holes, complex pixels.
        states: shape (n, 5), HoleState.
        share: shape (n, 5), open share.
        area_px: shape (n, 5), open area, square pixels of the picture.
        u: shape (n, 5), centre of the hole from its place.
        v: shape (n, 5), the same across.
        feed_area_px: shape (n,), open area of the feed hole.
        feed_oval: shape (n,), feed hole's length along less its width across, steps.
        feed_clean: shape (n,), whether nothing but the feed hole is in its window.
        advance: shape (n,), code row beyond the feed hole, steps (the same for all rows).
        on_paper: shape (n, 5), whether there is paper round the position.
        marked: shape (n, 5), whether a mark may hide a hole there or stand for one.
    """

    z: Points
    found: BoolArray
    along: Points
    across: Points
    places: Points
    states: np.ndarray
    share: FloatArray
    area_px: FloatArray
    u: FloatArray
    v: FloatArray
    feed_area_px: FloatArray
    feed_oval: FloatArray
    feed_clean: BoolArray
    advance: float
    on_paper: BoolArray
    marked: BoolArray

    @property
    def rows(self) -> int:
        """Number of rows."""
        return int(self.z.size)


def pose(rows: Rows, part: slice, *, side: int, forward: bool) -> Posed:
    """Turn a stretch of rows into reading order; `side` as `three_hole_side` gives it."""
    n = np.arange(rows.strip.rows)[part]
    n = n if forward else n[::-1]
    way = 1 if forward else -1
    columns = columns_of(side)
    strip, seen = rows.strip, rows.openings
    places = np.stack([strip.place(side * k) for k in TRACK_STEPS], 1)
    # a window is a parallelogram of the picture: one step along by one step across, where it lies
    across = strip.across[:, None] + 2 * side * STEP_OF_TRACK * strip.bow[:, None]
    cell = np.abs((strip.along[:, None].conj() * across).imag)
    feed_cell = np.abs((strip.along.conj() * strip.across).imag)
    return Posed(
        z=strip.z[n], found=strip.found[n], along=way * strip.along[n], across=side * strip.across[n],
        places=places[n], states=rows.states[n][:, columns], share=seen.share[n][:, columns],
        area_px=(seen.light[:, columns] * cell)[n], u=way * seen.u[n][:, columns], v=side * seen.v[n][:, columns],
        feed_area_px=(seen.light[:, FEED] * feed_cell)[n], feed_oval=seen.feed_oval[n],
        feed_clean=(seen.spoilt[n, FEED] < 0.05) & strip.found[n],
        advance=way * strip.advance, on_paper=rows.on_paper[n][:, columns],
        marked=marked(seen, rows.states)[n][:, columns],
    )  # fmt: skip
