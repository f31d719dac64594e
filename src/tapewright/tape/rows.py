"""Rows that can be read: feed holes centred, ends trimmed, the side with three tracks known, the code of each row.

side +3:  o   o      a whole paper ring and holes: the third track of that side
side -3:  ===edge==  half of the ring is beyond the tape
"""

from dataclasses import dataclass, replace

import numpy as np

from tapewright.pictures.picture import BoolArray, FloatArray, Levels, Points
from tapewright.reference.five_unit_tape import TRACK_STEPS
from tapewright.tape.document import HoleState
from tapewright.tape.grid import STEPS, Grid, refit
from tapewright.tape.holes import Judged, is_punched, judge_holes
from tapewright.tape.neighbours import rolling_median
from tapewright.tape.openings import FEED, Openings, look_at_holes
from tapewright.tape.windows import cut_windows

#: Rows tried beyond each end of a chain: the last feed holes may be torn, dirty or near the border.
BEYOND_ROWS = 3
OFF_PAPER = 0.5
#: Holes that the grid is fitted to are so far open, in all and in the middle.
NEARLY_WHOLE, NEARLY_FULL = 0.86, 0.80
#: When the grid moves by less than this many steps, the windows already cut serve.
RECUT_FROM = 0.08
#: Rows without paper that end a strip.
GAP_ROWS = 3


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """A strip with what stands at every position; rows in the order found, track steps -3 to 3.

    Attributes:
        strip: the grid, feed holes centred.
        openings: measures of every position.
        judged: state, share and mark of every position.
        on_paper: shape (rows, 7), whether the paper round the position is there.
    """

    strip: Grid
    openings: Openings
    judged: Judged
    on_paper: BoolArray


def read_rows(levels: Levels, strip: Grid) -> Rows:
    """Look at every row of a strip, and keep those from the first to the last that can be read."""
    first = _longer(strip)
    windows = cut_windows(levels, first)
    openings = look_at_holes(windows, first)
    strip = _centred(first, openings)
    moved = grid_shift(first, strip)
    if np.abs(moved).max(initial=0.0) > RECUT_FROM:
        windows = cut_windows(levels, strip)
        openings = look_at_holes(windows, strip)
        moved = np.zeros_like(moved)
    else:
        openings = replace(openings, u=openings.u - moved.real, v=openings.v - moved.imag)
    judged = judge_holes(windows, openings, moved, strip.stretched(STEPS), light=strip.light)
    return Rows(strip, openings, judged, _on_paper(openings.paper, openings, strip))


def grid_shift(before: Grid, after: Grid) -> Points:
    """Return how far each place of the grid has moved, shape (rows, 7): steps along + i steps across."""
    way = np.stack([after.place(k) - before.place(k) for k in STEPS], 1)
    along, across = after.along[:, None], after.across[:, None]
    # solve way = a along + c across for real a and c
    area = (along.conj() * across).imag
    return np.asarray((way.conj() * across).imag / area + 1j * (along.conj() * way).imag / area)


def _longer(strip: Grid) -> Grid:
    """Put BEYOND_ROWS empty rows on both ends."""
    n = np.arange(1, BEYOND_ROWS + 1)

    def same(values: Points) -> Points:
        return np.pad(values, BEYOND_ROWS, mode="edge")

    return replace(
        strip,
        z=np.concatenate([strip.z[0] - n[::-1] * strip.along[0], strip.z, strip.z[-1] + n * strip.along[-1]]),
        found=np.pad(strip.found, BEYOND_ROWS, constant_values=False),
        along=same(strip.along), across=same(strip.across), bow=same(strip.bow),
    )  # fmt: skip


def _centred(strip: Grid, openings: Openings) -> Grid:
    """Move each feed hole to its grey-level centre, and fit the grid again to the centres of the whole code holes."""
    seen = _without_gap(feed_seen(openings))
    u, v = openings.u[:, FEED], openings.v[:, FEED]
    near = seen & (np.hypot(u, v) < 0.2) & (openings.spoilt[:, FEED] < 0.15)
    moved = np.where(near, u * strip.along + v * strip.across, 0)
    whole = (openings.share > NEARLY_WHOLE) & (openings.inner > NEARLY_FULL) & (openings.spoilt < 0.05)
    whole[:, FEED] = False
    row, column = np.nonzero(whole)
    strip_here = replace(strip, z=strip.z + moved, found=seen)
    if row.size < 8:
        return strip_here
    step = np.array(STEPS)[column]
    places = np.stack([strip.place(k) for k in STEPS], 1)[row, column]
    centre = places + openings.u[whole] * strip.along[row] + openings.v[whole] * strip.across[row]
    return refit(strip_here, row, step, centre, 3 if row.size > 40 else 1)


def _without_gap(seen: BoolArray) -> BoolArray:
    """Of the rows tried beyond the ends keep those that follow without a gap: dirt can lie where a hole would be."""
    seen = seen.copy()
    for n in range(BEYOND_ROWS - 1, -1, -1):
        seen[n] &= seen[n + 1]
        seen[-1 - n] &= seen[-2 - n]
    return seen


def feed_seen(openings: Openings) -> BoolArray:
    """Say in which rows a feed hole is open; shape (rows,)."""
    # a pen stroke across blank paper is dark in the middle too, but has no round outline
    outline = openings.rim[:, FEED] > 0.35
    seen = (openings.contrast[:, FEED] > 0.45) & outline & openings.inside[:, FEED] & (openings.spoilt[:, FEED] < 0.5)
    return np.asarray(seen, np.bool_)


def _on_paper(paper: FloatArray, openings: Openings, strip: Grid) -> BoolArray:
    """Say where the ring is as light as the paper of the strip; beyond a tear it is as dark as the holes."""
    sign = 1.0 if strip.light else -1.0
    near = np.median(paper[:, 1:6], axis=1)
    known = near[BEYOND_ROWS:-BEYOND_ROWS] if near.size > 4 * BEYOND_ROWS else near
    # running median over rows, longer than a tear
    level = rolling_median(known, 15)
    level = np.pad(level, (near.size - level.size) // 2, mode="edge") if level.size < near.size else level
    away = sign * (paper - level[:, None]) / openings.hole_contrast
    return np.asarray((away < OFF_PAPER) & (openings.spoilt < 0.35), np.bool_)


def three_hole_side(rows: Rows) -> tuple[int, float]:
    """Return side (+1 or -1 across) on which the third track lies, and how sure, in nats (0: nothing to tell by)."""
    weight = []
    for end in (STEPS.index(3), STEPS.index(-3)):
        clear = rows.on_paper[:, end] & rows.openings.inside[:, end] & (rows.openings.spoilt[:, end] < 0.1)
        holes = int(np.sum((rows.judged.state[:, end] == HoleState.CLEAN) & clear))
        edge = int(np.sum((rows.openings.spoilt[:, end] > 0.2) & (rows.openings.spoilt[:, end] < 0.8)))
        weight.append((holes, edge))
    (holes_here, edge_here), (holes_there, edge_there) = weight
    n = max(rows.strip.rows, 1)
    # one whole hole in the third track hardly comes by chance; the edge of the tape along the other side no more
    nats = 2.5 * (min(holes_here, 6) - min(holes_there, 6)) + 8.0 * (edge_there - edge_here) / n
    return (1 if nats >= 0 else -1), abs(nats)


def columns_of(side: int) -> list[int]:
    """Return where tracks 1 to 5 stand among the seven steps, when the third track is at `side`."""
    return [STEPS.index(side * step) for step in TRACK_STEPS]


def codes_of(rows: Rows, side: int) -> list[str]:
    """Return the code of every row, element 1 first; a partial hole counts as punched."""
    punched = is_punched(rows.judged.state[:, columns_of(side)])
    return ["".join("1" if hole else "0" for hole in row) for row in punched.tolist()]


def stretches(rows: Rows, side: int) -> list[slice]:
    """Return the stretches of rows that can be read, each from its first to its last whole row.

    A row is whole when its feed hole is seen and all five positions are on paper in the picture. A stretch ends where
    the tape does: at a gap of GAP_ROWS or more rows without paper. Rows under a stain or writing stay in.
    """
    columns = columns_of(side)
    paper = rows.on_paper[:, columns]
    whole = rows.openings.inside[:, columns].all(axis=1) & paper.all(axis=1) & rows.strip.found
    gone = ~rows.openings.inside[:, columns].all(axis=1) | (paper.sum(axis=1) <= 2)
    places = np.flatnonzero(whole)
    if not places.size:
        return []
    cuts = [n + 1 for n in range(places.size - 1) if gone[places[n] + 1 : places[n + 1]].sum() >= GAP_ROWS]
    runs = np.split(places, cuts)
    return [_sound_ends(rows, columns, int(run[0]), int(run[-1])) for run in runs]


def _sound_ends(rows: Rows, columns: list[int], first: int, last: int) -> slice:
    """Leave out end rows in which a "hole" may be the tear itself: no more may reach over its ring than usual.

    The shadow of a hole's own edge reaches over its ring all along the strip.
    """
    punched = is_punched(rows.judged.state[:, columns])
    spoilt = rows.openings.spoilt[:, columns]
    within = np.zeros_like(punched)
    within[first + BEYOND_ROWS : last + 1 - BEYOND_ROWS] = True
    usual = spoilt[punched & within]
    most = 0.12 + (float(np.quantile(usual, 0.9)) if usual.size else 0.0)
    doubtful = np.asarray((punched & (spoilt > most)).any(axis=1), np.bool_)
    for _ in range(BEYOND_ROWS):
        first += int(first < last and doubtful[first])
        last -= int(first < last and doubtful[last])
    return slice(first, last + 1)


__all__ = ["Rows", "codes_of", "columns_of", "read_rows", "stretches", "three_hole_side"]
