r"""Instants: each transition inside a character against the boundary it belongs to.

Picture (k = boundary; S = start transition; d = individual distortion of the instant at k = 2):

    boundary   0=S    1      2      3      4      5      6
    mark     ---+     .      +-->d  .      .      .      +------
                |     .      :  |---+      .      .      |
    space       +----------------   +--------------------+

Who made an instant, in a transmitter with one contact per element: space to mark at k is contact k closing
(k = 6: the stop contact); mark to space at k is contact k - 1 opening (k = 0: the stop contact, the reference).
A mark-to-space-to-mark pair between two marks is a split mark: contact k - 1 has opened before contact k closed.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.line.frames import REACH, Frames, IntArray, Offsets
from tapewright.line.transitions import Transitions
from tapewright.recordings.capture import BoolArray, FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Instants:
    """The significant instants of all characters, and the split marks.

    Attributes:
        frame: shape (n,), number of the character each instant lies in.
        boundary: shape (n,), k from 1 to elements + 1.
        to_mark: shape (n,), direction.
        elapsed_s: shape (n,), time since the character's start transition S.
        u_s: shape (n,), standard uncertainty from the instrument, of both ends of that time.
        bounce_s: shape (n,), last less first edge of the transition.
        chatter: shape (n,), True where the transition is chatter and says nothing about timing.
        split_boundary: shape (m,), boundary of each split mark.
        split_frame: shape (m,), number of the character it lies in.
        split_at_s: shape (m,), time from S to the begin of its gap.
        split_s: shape (m,), length of its gap.
    """

    frame: IntArray
    boundary: IntArray
    to_mark: BoolArray
    elapsed_s: FloatArray
    u_s: FloatArray
    bounce_s: FloatArray
    chatter: BoolArray
    split_boundary: IntArray
    split_frame: IntArray
    split_at_s: FloatArray
    split_s: FloatArray

    def deviation_units(self, unit_s: float) -> FloatArray:
        """Individual distortion d = ((t - S) - k T) / T, shape (n,): late positive, early negative (FED-STD-1037C)."""
        return np.asarray(self.elapsed_s / unit_s - self.boundary)

    def farthest(self, unit_s: float) -> FloatArray:
        """Return how far the worst but one instant of each direction lies from the middle of its kind, (2,), units."""
        d, use = self.deviation_units(unit_s), ~self.chatter
        kinds = [d[use & (self.to_mark == way)] for way in (True, False)]
        return np.array([np.sort(np.abs(each - np.median(each)))[-2] if each.size > 2 else 0.0 for each in kinds])


def find_instants(line: Transitions, frames: Frames, unit_s: float, offsets: Offsets | None = None) -> Instants:
    """Return every transition inside a character its boundary.

    Where a character has exactly as many transitions as its code asks for, they belong together in order,
    however late they are. Otherwise each goes to the nearest boundary that its direction fits.
    """
    offsets = offsets or Offsets()
    n, elements = frames.elements.shape
    levels = np.column_stack((np.zeros(n, bool), frames.elements, np.ones(n, bool)))
    change = levels[:, 1:] != levels[:, :-1]
    index = frames.start[:, None] + np.arange(1, REACH + 1)
    exists = index < line.first_s.size
    index = np.minimum(index, max(line.first_s.size - 1, 0))
    elapsed = line.first_s[index] - frames.start_s[:, None] if n else np.empty((0, REACH))
    units = unit_s * frames.pace
    inside = exists & (elapsed < (elements + 1.5) * units[:, None])
    in_order = inside.sum(axis=1) == change.sum(axis=1)

    row_t, at = np.nonzero(inside & in_order[:, None])
    row_k, k = np.nonzero(change & in_order[:, None])
    picked = [(row_t, index[row_t, at], k + 1)] if row_t.size == row_k.size else []
    splits: list[tuple[int, int, float, float]] = []
    for row in np.flatnonzero(~in_order):
        candidates = index[row][inside[row]]
        rows, splits_here = _nearest(line, candidates, frames.start_s[row], levels[row], float(units[row]), offsets)
        splits += [(int(row), *split) for split in splits_here]
        pairs = np.array(rows, int).reshape(-1, 2)
        picked.append((np.full(len(rows), row), pairs[:, 0], pairs[:, 1]))
    frame, transition, boundary = (
        np.concatenate([part[i] for part in picked]).astype(np.int64) if picked else np.empty(0, np.int64)
        for i in range(3)
    )
    order = np.lexsort((boundary, frame))
    frame, transition, boundary = frame[order], transition[order], boundary[order]
    start = frames.start[frame]
    chatter = line.chatter(unit_s)
    return Instants(
        frame=frame,
        boundary=boundary,
        to_mark=line.to_mark[transition],
        elapsed_s=line.first_s[transition] - line.first_s[start],
        u_s=np.hypot(line.u_s[transition], line.u_s[start]),
        bounce_s=line.last_s[transition] - line.first_s[transition],
        chatter=np.asarray(chatter[transition] | chatter[start]),
        split_boundary=np.array([split[1] for split in splits], np.int64),
        split_frame=np.array([split[0] for split in splits], np.int64),
        split_at_s=np.array([split[2] for split in splits], float),
        split_s=np.array([split[3] for split in splits], float),
    )


def _nearest(
    line: Transitions, candidates: IntArray, start_s: float, levels: BoolArray, unit_s: float, offsets: Offsets
) -> tuple[list[tuple[int, int]], list[tuple[int, float, float]]]:
    """Match one character's transitions to boundaries by nearness.

    Returns:
        (transition, boundary) of each, and (boundary, begin of the gap since S, its length) of each split mark.
    """
    matched: dict[int, int] = {}
    splits: list[tuple[int, float, float]] = []
    for here, after in zip(candidates, [*candidates, -1][1:], strict=True):
        place = (line.first_s[here] - start_s) / unit_s
        k = round(place - (offsets.to_mark if line.to_mark[here] else offsets.to_space))
        if not 1 <= k < levels.size:
            continue
        if levels[k] != levels[k - 1]:
            if levels[k] == line.to_mark[here]:
                matched.setdefault(k, int(here))
        elif levels[k] and not line.to_mark[here] and after >= 0:
            begin = float(line.first_s[here])
            splits.append((k, begin - float(start_s), float(line.first_s[after]) - begin))
    return [(transition, boundary) for boundary, transition in matched.items()], splits
