"""Each contact: how late it closes and opens, how it bounces, what it drops."""

import numpy as np

from tapewright.core.line.capture import FloatArray
from tapewright.core.line.decomposition import Decomposition
from tapewright.core.line.frames import Frames, IntArray
from tapewright.core.line.groups import Groups
from tapewright.core.line.instants import Instants
from tapewright.core.line.line_result import Contact
from tapewright.core.line.transitions import Transitions
from tapewright.core.measurement import Reading, missing

#: A dropout this near to where one mark goes over into the next is a split mark, not a dropout.
NEAR_BOUNDARY_UNITS = 0.25

NEVER_SEEN = "it does not occur in this recording"
LAST_OPENS_INTO_STOP = "its mark runs into the stop, so its opening is not seen"
IS_REFERENCE = "the opening of the stop contact is what everything is timed from"


def list_contacts(
    line: Transitions, frames: Frames, instants: Instants, groups: Groups, split: Decomposition
) -> tuple[Contact, ...]:
    """Give contacts 1 to n and the stop contact."""
    elements = frames.elements.shape[1]
    dropouts, at, gap_s = _gaps_in_marks(line, frames, split.unit_s)
    at, gap_s = np.concatenate((at, instants.split_boundary)), np.concatenate((gap_s, instants.split_s))
    return tuple(
        _contact(k, elements, instants, groups, split, int(dropouts[k]), 1e3 * gap_s[at == k])
        for k in range(1, elements + 2)
    )


def _contact(
    k: int,
    elements: int,
    instants: Instants,
    groups: Groups,
    split: Decomposition,
    dropouts: int,
    gaps: FloatArray,
) -> Contact:
    last = k == elements + 1
    closing, closing_seen, closing_off = _own(k, True, instants, groups, split)
    opening, opening_seen, opening_off = _own(k + 1, False, instants, groups, split)
    if last:
        opening = missing("ms", IS_REFERENCE)
    elif k == elements and opening.value is None:
        opening = missing("ms", LAST_OPENS_INTO_STOP)
    closes = (instants.boundary == k) & instants.to_mark & ~instants.chatter
    bounce = 1e3 * instants.bounce_s[closes]
    return Contact(
        contact="stop" if last else str(k),
        closing_late_ms=closing,
        opening_late_ms=opening,
        closing_seen=closing_seen,
        opening_seen=opening_seen,
        bounce_median_ms=float(np.median(bounce)) if bounce.size else None,
        bounce_max_ms=float(bounce.max()) if bounce.size else None,
        dropouts=dropouts,
        splits=int(gaps.size),
        split_median_ms=float(np.median(gaps)) if gaps.size else None,
        off=max(closing_off, opening_off),
    )


def _own(
    boundary: int, to_mark: bool, instants: Instants, groups: Groups, split: Decomposition
) -> tuple[Reading, tuple[int, int], float]:
    """Give the lateness of one group in ms, how many of its instants show it, and the chance that it is off."""
    at = np.flatnonzero((split.boundary == boundary) & (split.to_mark == to_mark))
    if not at.size:
        return missing("ms", NEVER_SEEN), (0, 0), 0.0
    g = int(at[0])
    late = float(split.own_s[g])
    mine = (instants.boundary == boundary) & (instants.to_mark == to_mark) & np.isfinite(groups.residual_s)
    lateness = late + groups.residual_s[mine]
    shows = int(np.count_nonzero(lateness * np.sign(late) > abs(late) / 2))
    reading = Reading(1e3 * late, 1e3 * float(split.own_u_s[g]), "ms", int(split.n[g]))
    return reading, (shows, int(mine.sum())), float(split.off[g])


def _gaps_in_marks(line: Transitions, frames: Frames, unit_s: float) -> tuple[IntArray, IntArray, FloatArray]:
    """Sort the dropouts of the mark: inside an element, or where one mark goes over into the next.

    Returns:
        number inside each element, shape (elements + 2,), index 0 the start and the last the stop;
        boundary of each gap between two marks, shape (m,); its length in seconds, shape (m,).
    """
    elements = frames.elements.shape[1]
    times, lengths = line.dropout_s[line.dropout_in_mark], line.dropout_length_s[line.dropout_in_mark]
    frame = np.searchsorted(frames.start_s, times, side="right") - 1
    times, lengths, frame = times[frame >= 0], lengths[frame >= 0], frame[frame >= 0]
    place = (times - frames.start_s[frame]) / unit_s
    levels = np.column_stack((frames.elements, np.ones(len(frames.elements), bool)))
    boundary = np.clip(np.round(place).astype(int), 0, elements + 1)
    between = (np.abs(place - boundary) < NEAR_BOUNDARY_UNITS) & (boundary >= 2)
    k = np.clip(boundary, 2, elements + 1)
    between &= levels[frame, k - 2] & levels[frame, k - 1]
    inside = np.bincount(np.clip(place[~between].astype(int), 0, elements + 1), minlength=elements + 2)
    return inside.astype(np.int64), boundary[between].astype(np.int64), lengths[between]
