"""Two senders in one recording, one after the other: asked where it reads badly, or its speed seems to drift far.

The recording is cut into parts and the unit of each is found for itself. A sender whose speed drifts has others in
between; two senders have two, each in its own part. Which is which nobody else can say, so the recording is to be cut.
"""

from dataclasses import replace
from itertools import pairwise

import numpy as np

from tapewright.line.speed_proof import SENDERS
from tapewright.line.unit_length import find_unit
from tapewright.recordings.capture import RawEdges

PARTS, FEWEST_PARTS, EDGES_OF_A_PART = (4, 8, 3), 3, 30
#: A part reads well below this misfit; two parts are of one sender within, and of two beyond so much (shares; a drive
#: of one machine does not jump so far between characters: common practice, no source).
READS_WELL, SAME, OTHER = 0.12, 0.012, 0.035
#: A drift of the speed beyond which this is asked, per cent.
FAR_DRIFT_PERCENT = 2.5
#: And one that is no drift of one machine at its speed, whatever it is.
TOO_FAR_PERCENT, TOO_FAR = 5.0, "two senders, or a machine that is not at its speed yet"


def find_senders(edges: RawEdges, mark_is_high: bool, elements: int) -> str:
    """Return what is said of two senders; empty where there is one, or it cannot be told."""
    n = edges.times_s.size
    tried = (_in_parts(edges, parts, mark_is_high, elements) for parts in PARTS if n >= parts * EDGES_OF_A_PART)
    return next(filter(None, tried), "")


def _in_parts(edges: RawEdges, parts: int, mark_is_high: bool, elements: int) -> str:
    cuts = np.linspace(0, edges.times_s.size - 1, parts + 1).astype(int).tolist()

    def unit_of(first: int, last: int) -> float | None:
        guess = find_unit(_part(edges, first, last), mark_is_high=mark_is_high, elements=elements)
        return guess.unit_s if guess is not None and guess.misfit < READS_WELL else None

    # the ends first: what reads badly there is no sender, and need not be looked at any further
    begin = unit_of(cuts[0], cuts[1])
    end = None if begin is None else unit_of(cuts[-2], cuts[-1])
    if begin is None or end is None or abs(np.log(begin / end)) < OTHER:
        return ""
    units = [begin, *(unit_of(first, last) for first, last in pairwise(cuts[1:-1])), end]
    inner = [unit for unit in units[1:-1] if unit is not None]
    # the part in which the one gives way to the other may read as anything; a drift has several in between
    strange = sum(min(abs(np.log(unit / begin)), abs(np.log(unit / end))) > SAME for unit in inner)
    if strange > (parts > FEWEST_PARTS):
        return ""
    still = sum(unit is not None and abs(np.log(unit / begin)) <= SAME for unit in units)
    after_s, before_s = edges.times_s[cuts[still]], edges.times_s[cuts[still + 1]]
    where = f"the other begins from {after_s:.1f} to {before_s:.1f} s"
    return f"{SENDERS}: {1 / begin:.4g} Bd at the begin, {1 / end:.4g} Bd at the end; {where}"


def _part(edges: RawEdges, first: int, last: int) -> RawEdges:
    times, before = edges.times_s[first:last], edges.starts_high if first == 0 else bool(edges.level_after[first - 1])
    return replace(
        edges,
        times_s=times,
        level_after=edges.level_after[first:last],
        u_s=edges.u_s[first:last],
        starts_high=before,
        begin_s=edges.begin_s if first == 0 else float(times[0]),
        end_s=float(times[-1]),
    )
