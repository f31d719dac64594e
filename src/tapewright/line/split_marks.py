r"""Split marks: where one mark goes over into the next and the line is away in between.

Picture (elements k and k + 1 are both mark; contact k has opened before contact k + 1 closed):

    boundary          k            k + 1            k + 2
    contact k         +---------+    :                .
    contact k + 1     :         :    +----------------+
    line           ---+---------+ gap+----------------+---
                                ^ where contact k opens

Its begin is contact k opening, and for the last element, whose mark runs into the stop, the only place where that
opening is ever seen. It is measured there only where nearly every such mark is split: of the few marks that just
happen to split only the early openings would be seen, and their mean would be too early.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.line.decomposition import Decomposition
from tapewright.line.frames import Frames, IntArray
from tapewright.line.groups import Groups
from tapewright.line.instants import Instants
from tapewright.line.transitions import Transitions
from tapewright.number import Reading
from tapewright.recordings.capture import FloatArray

#: A dropout this near to where one mark goes over into the next is a split mark, not a dropout.
NEAR_BOUNDARY_UNITS = 0.25
#: Share of the marks that must be split, and their least number, before their begin is taken for the contact's opening.
NEARLY_ALL, FEWEST = 0.9, 4


@dataclass(frozen=True, slots=True, eq=False)
class SplitMarks:
    """The gaps between two marks in a row.

    Attributes:
        boundary: shape (m,), where each lies: contact boundary - 1 opens, contact boundary closes.
        at_s: shape (m,), time from the start transition to its begin.
        gap_s: shape (m,), from its begin until the line first comes back.
        could: shape (elements + 2,), number of places for each boundary where two marks follow each other.
        dropouts: shape (elements + 2,), number of gaps inside each element, index 0 the start and the last the stop.
    """

    boundary: IntArray
    at_s: FloatArray
    gap_s: FloatArray
    could: IntArray
    dropouts: IntArray


def find_split_marks(line: Transitions, frames: Frames, instants: Instants, unit_s: float) -> SplitMarks:
    """Sort the gaps of the mark: inside an element, or where one mark goes over into the next."""
    elements = frames.elements.shape[1]
    times, gaps = line.dropout_s[line.dropout_in_mark], line.dropout_gap_s[line.dropout_in_mark]
    frame = np.searchsorted(frames.start_s, times, side="right") - 1
    times, gaps, frame = times[frame >= 0], gaps[frame >= 0], frame[frame >= 0]
    elapsed = times - frames.start_s[frame]
    place = elapsed / unit_s
    levels = np.column_stack((frames.elements, np.ones(len(frames.elements), bool)))
    boundary = np.clip(np.round(place).astype(int), 0, elements + 1)
    between = (np.abs(place - boundary) < NEAR_BOUNDARY_UNITS) & (boundary >= 2)
    k = np.clip(boundary, 2, elements + 1)
    between &= levels[frame, k - 2] & levels[frame, k - 1]
    inside = np.bincount(np.clip(place[~between].astype(int), 0, elements + 1), minlength=elements + 2)
    could = np.zeros(elements + 2, np.int64)
    could[2:] = (levels[frames.complete, :-1] & levels[frames.complete, 1:]).sum(axis=0)
    return SplitMarks(
        boundary=np.concatenate((boundary[between], instants.split_boundary)).astype(np.int64),
        at_s=np.concatenate((elapsed[between], instants.split_at_s)),
        gap_s=np.concatenate((gaps[between], instants.split_s)),
        could=could,
        dropouts=inside.astype(np.int64),
    )


def last_opening(splits: SplitMarks, groups: Groups, split: Decomposition) -> tuple[Reading, tuple[int, int]] | None:
    """Return how late the last element's contact opens, and how many of its marks show it; None where too few do.

    Its own lateness is what is left of the mean when the displacement common to all openings is taken out.
    """
    k = splits.could.size - 1
    at = splits.at_s[splits.boundary == k] - k * split.unit_s
    if at.size < max(FEWEST, NEARLY_ALL * splits.could[k]):
        return None
    late = float(np.median(at)) - split.openings_s
    # a median of normal values is known sqrt(pi / 2) times worse than their mean
    own = max(float(at.std(ddof=1)), groups.resolution_s) * np.sqrt(np.pi / 2 / at.size)
    u = float(np.sqrt(own**2 + split.openings_u_s**2 + (k * split.unit_u_s) ** 2))
    shows = int(np.count_nonzero((at - split.openings_s) * np.sign(late) > abs(late) / 2))
    return Reading(1e3 * late, 1e3 * u, "ms", int(at.size)), (shows, int(splits.could[k]))
