"""A strip in reading order: rows from the beginning, tracks 1 to 5, everything turned to face up."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from tapewright.pictures.picture import BoolArray, FloatArray, Points
from tapewright.reference.five_unit_tape import (
    FEED_TO_THREE_HOLE_EDGE_MM,
    FEED_TO_TWO_HOLE_EDGE_MM,
    GRID_MM,
    TRACK_STEPS,
)
from tapewright.tape.openings import FEED
from tapewright.tape.rows import Rows, columns_of

STEP_OF_TRACK = np.array(TRACK_STEPS)
#: A feed hole is longer than the others from here on: this share of a step (0.05 mm), and this many robust standard
#: deviations of all of them (owner's choice).
LONGER_STEPS, SIGMAS = 0.02, 8.0
#: Strips whose middles lie nearer than this across are pieces of one line (two that touch lie 6.9 steps apart).
LINE_STEPS = 3.5
#: Paper of a strip across, steps from the feed line.
PAPER_FROM, PAPER_TO = -FEED_TO_TWO_HOLE_EDGE_MM / GRID_MM, FEED_TO_THREE_HOLE_EDGE_MM / GRID_MM


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
        shortened: shape (n,), how long steps along are there against even ones; 1 on flat tape.
        shown: openings of a smaller share drown in the noise of the paper.
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
    shortened: FloatArray
    shown: float

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
        places=places[n], states=rows.judged.state[n][:, columns], share=rows.judged.share[n][:, columns],
        area_px=(seen.light[:, columns] * cell)[n], u=way * seen.u[n][:, columns], v=side * seen.v[n][:, columns],
        feed_area_px=(seen.light[:, FEED] * feed_cell)[n], feed_oval=seen.feed_oval[n],
        feed_clean=(seen.spoilt[n, FEED] < 0.05) & strip.found[n],
        advance=way * strip.advance, on_paper=rows.on_paper[n][:, columns],
        marked=rows.judged.marked[n][:, columns], shortened=strip.shortened[n], shown=rows.judged.shown,
    )  # fmt: skip


def longer_feed_holes(posed: Posed) -> BoolArray:
    """Return in which rows the feed hole is longer than the others, shape (n,); dirty ones do not count.

    A tape that hardly moved between two strokes carries two codes on one row, and its feed hole is cut twice, a little
    apart. A tooth that tears one feed hole leaves the same trace, so it is a suspicion, not a finding; a tape that did
    not move at all leaves none.
    """
    usable = posed.feed_clean & np.isfinite(posed.feed_oval)
    if usable.sum() < 2:
        return np.zeros(posed.rows, bool)
    middle = float(np.median(posed.feed_oval[usable]))
    off = posed.feed_oval - middle
    spread = 1.4826 * float(np.median(np.abs(off[usable])))
    return np.asarray(usable & (off > max(LONGER_STEPS, SIGMAS * spread)), np.bool_)


def reading_order(strips: Sequence[Posed]) -> list[int]:
    """Return the numbers of the strips, line by line from the top (or, upright, from the left), along each line."""
    along = np.array([strip.z[-1] - strip.z[0] for strip in strips])
    along = np.where(along.real + along.imag * 1e-9 < 0, -along, along)
    way = along.sum() / np.abs(along.sum())
    if abs(way.imag) > abs(way.real):
        way = way if way.imag > 0 else -way
    down = way * 1j
    down = down if down.real + down.imag > 0 else -down
    middle = np.array([strip.z.mean() for strip in strips])
    depth, place = (middle * np.conj(down)).real, (middle * np.conj(way)).real
    line_px = LINE_STEPS * float(np.median([np.abs(strip.along).mean() for strip in strips]))
    order = np.argsort(depth, kind="stable")
    line = np.zeros(len(strips), int)
    line[order] = np.concatenate([[0], np.cumsum(np.diff(depth[order]) > line_px)])
    return [int(n) for n in np.lexsort((place, line))]


def overlaid(strip: Posed, others: Iterable[Posed]) -> BoolArray:
    """Return in which rows another strip lies over or under a place of this one, shape (n,)."""
    found = np.zeros(strip.rows, bool)
    for other in others:
        away = strip.places[..., None] - other.z
        row = np.argmin(np.abs(away), axis=-1)
        left = np.take_along_axis(away, row[..., None], -1)[..., 0]
        along, across = other.along[row], other.across[row]
        area = (along.conj() * across).imag
        u, v = (left.conj() * across).imag / area, (along.conj() * left).imag / area
        found |= ((np.abs(u) < 1.5) & (v > PAPER_FROM) & (v < PAPER_TO)).any(axis=1)
    return found
