"""Each contact: how late it closes and opens, how it bounces, what it drops."""

import numpy as np

from tapewright.line.decomposition import Decomposition
from tapewright.line.document import Bounce, Contact, Covariance, Splits
from tapewright.line.frames import Frames
from tapewright.line.groups import Groups
from tapewright.line.instants import Instants
from tapewright.line.split_marks import SplitMarks, find_split_marks, last_opening
from tapewright.line.transitions import Transitions
from tapewright.number import Reading, missing

NEVER_SEEN = "it does not occur in this recording"
LAST_OPENS_INTO_STOP = "its mark runs into the stop, so its opening is not seen"
NO_NEIGHBOUR = "there is no contact before it"
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
        closes_after_neighbour_ms=_after_neighbour(k, split),
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

    All of it counts, also what all contacts have in common (bias, end distortion).
    """
    closes, opens = split.group(k, True), split.group(k + 1, False)
    if closes is None or opens is None:
        return missing("percent", never_opens or NEVER_SEEN)
    T = split.unit_s
    late = split.own_s[opens] + split.openings_s - split.own_s[closes] - split.closings_s
    # a mark is one unit and what its ends are late; as a share of the unit, the unit's own doubt all but goes
    u = split.u_of({3 + opens: 1.0, 1: 1.0, 3 + closes: -1.0, 0: -1.0, 2: -float(late) / T})
    return Reading(100 * (1 + float(late) / T), 100 * u / T, "percent", int(min(groups.n[opens], groups.n[closes])))


def _after_neighbour(k: int, split: Decomposition) -> Reading:
    """Return how much later the contact closes than the one before it, each against its place."""
    here, before = split.group(k, True), split.group(k - 1, True)
    if here is None or before is None:
        return missing("ms", NO_NEIGHBOUR if k == 1 else NEVER_SEEN)
    late = float(split.own_s[here] - split.own_s[before])
    u = split.u_of({3 + here: 1.0, 3 + before: -1.0})
    return Reading(1e3 * late, 1e3 * u, "ms", int(min(split.n[here], split.n[before])))


def covariance_of(split: Decomposition, contacts: tuple[Contact, ...]) -> Covariance:
    """Return how the errors of unit, common displacements and contacts go together."""
    named = {(int(k), bool(closes)): g for g, (k, closes) in enumerate(zip(split.boundary, split.to_mark, strict=True))}
    places = {"unit_ms": 2, "all closings": 0, "all openings": 1}
    for k, contact in enumerate(contacts, start=1):
        for way, key in (("closing", (k, True)), ("opening", (k + 1, False))):
            if key in named and not (way == "opening" and k == len(contacts)):
                places[f"contact {contact.contact} {way}"] = 3 + named[key]
    at = list(places.values())
    matrix = 1e6 * split.covariance[np.ix_(at, at)]
    return Covariance(names=tuple(places), matrix=tuple(tuple(row) for row in matrix.tolist()))


def _own(
    boundary: int, to_mark: bool, instants: Instants, groups: Groups, split: Decomposition
) -> tuple[Reading, tuple[int, int], float]:
    """Return the lateness of one group in ms, how many of its instants show it, and the chance that it is off."""
    g = split.group(boundary, to_mark)
    if g is None:
        return missing("ms", NEVER_SEEN), (0, 0), 0.0
    late = float(split.own_s[g])
    mine = (instants.boundary == boundary) & (instants.to_mark == to_mark) & np.isfinite(groups.residual_s)
    lateness = late + groups.residual_s[mine]
    shows = int(np.count_nonzero(lateness * np.sign(late) > abs(late) / 2))
    reading = Reading(1e3 * late, 1e3 * split.u_of({3 + g: 1.0}), "ms", int(split.n[g]))
    return reading, (shows, int(mine.sum())), float(split.off[g])
