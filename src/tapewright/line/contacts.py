"""Each contact: how late it closes and opens, how it bounces, what it drops."""

import numpy as np

from tapewright.line.decomposition import Decomposition
from tapewright.line.document import Bounce, Contact, Splits
from tapewright.line.frames import Frames
from tapewright.line.groups import Groups
from tapewright.line.instants import Instants
from tapewright.line.split_marks import SplitMarks, find_split_marks, last_opening
from tapewright.line.transitions import Transitions
from tapewright.number import Reading, missing

NEVER_SEEN = "it does not occur in this recording"
LAST_OPENS_INTO_STOP = "its mark runs into the stop, so its opening is not seen"
IS_REFERENCE = "the opening of the stop contact is what everything is timed from"


def list_contacts(
    line: Transitions, frames: Frames, instants: Instants, groups: Groups, split: Decomposition
) -> tuple[Contact, ...]:
    """Return contacts 1 to n and the stop contact."""
    elements = frames.elements.shape[1]
    splits = find_split_marks(line, frames, instants, split.unit_s)
    return tuple(_contact(k, elements, instants, groups, split, splits) for k in range(1, elements + 2))


def _contact(
    k: int,
    elements: int,
    instants: Instants,
    groups: Groups,
    split: Decomposition,
    splits: SplitMarks,
) -> Contact:
    last = k == elements + 1
    gaps = 1e3 * splits.gap_s[splits.boundary == k]
    closing, closing_seen, closing_off = _own(k, True, instants, groups, split)
    opening, opening_seen, opening_off = _own(k + 1, False, instants, groups, split)
    if last:
        opening = missing("ms", IS_REFERENCE)
    elif k == elements and opening.value is None:
        seen = last_opening(splits, groups, split)
        opening, opening_seen = seen or (missing("ms", LAST_OPENS_INTO_STOP), opening_seen)
    closes = (instants.boundary == k) & instants.to_mark & ~instants.chatter
    bounce = 1e3 * instants.bounce_s[closes]
    return Contact(
        contact="stop" if last else str(k),
        closing_late_ms=closing,
        opening_late_ms=opening,
        mark_percent=_mark_percent(k, opening.how, groups, split),
        closing_seen=closing_seen,
        opening_seen=opening_seen,
        bounce_ms=Bounce(median=float(np.median(bounce)), max=float(bounce.max())) if bounce.size else None,
        dropouts=int(splits.dropouts[k]),
        splits=Splits(n=int(gaps.size), median_ms=float(np.median(gaps)) if gaps.size else None),
        probability_off=max(closing_off, opening_off),
        notes=tuple(r.how for r in (closing, opening) if r.value is None and r.how),
    )


def _mark_percent(k: int, never_opens: str, groups: Groups, split: Decomposition) -> Reading:
    """Return how long the contact's mark is, from the mean of its closings to that of its openings.

    All of it counts, also what all contacts have in common (bias, end distortion). Both means are timed from the same
    starts, so their covariance comes in; the doubt of the unit does too, as if it were independent of them.
    """
    ends = [np.flatnonzero((groups.boundary == k + opens) & (groups.to_mark != opens)) for opens in (False, True)]
    if not all(end.size for end in ends):
        return missing("percent", never_opens or NEVER_SEEN)
    closes, opens = (int(end[0]) for end in ends)
    share = (groups.unit_s + float(groups.mean_s[opens] - groups.mean_s[closes])) / split.unit_s
    c = groups.covariance
    variance = max(float(c[opens, opens] + c[closes, closes] - 2 * c[opens, closes]), 0.0)
    u = float(np.sqrt(variance + (share * split.unit_u_s) ** 2)) / split.unit_s
    return Reading(100 * share, 100 * u, "percent", int(min(groups.n[opens], groups.n[closes])))


def _own(
    boundary: int, to_mark: bool, instants: Instants, groups: Groups, split: Decomposition
) -> tuple[Reading, tuple[int, int], float]:
    """Return the lateness of one group in ms, how many of its instants show it, and the chance that it is off."""
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
