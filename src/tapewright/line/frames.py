r"""Frames: start, five elements, stop. Which mark-to-space transitions begin a character?

Picture (k = boundary number, S = the start transition):

    mark   ---+     +-----+           +-----------+
              |     |  1  |           |  5 stop   |      next S
    space     +-----+     +-----------+           +----
           k  0     1     2     3     4 ...   6

After a start the next six and a half units belong to the character; the first mark-to-space
transition after that begins the next one, because the line rests on mark between characters.
So from any start the rest of the path follows; what is free is where to begin, and where to
give up a start as noise. The path with the least total cost is found by dynamic programming
from the end, so that a character cut off at the beginning, noise before the first start or a
break cannot put the whole recording out of step.
"""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from tapewright.line.transitions import Transitions
from tapewright.recordings.capture import BoolArray, FloatArray

IntArray = npt.NDArray[np.int64]

ELEMENTS = 5
#: A next start is accepted from here on, in units after S: 7 for the shortest cycle, less its distortion.
NEXT_START_UNITS_AFTER_LAST_ELEMENT = 0.6
#: Costs, in the unit of a squared deviation of one transition divided by FIT_UNITS squared.
FIT_UNITS = 0.12
WORST_FIT = 3.0
NO_STOP, NO_START, SHORT_STOP, SKIPPED, MAYBE_CUT_OFF = 8.0, 8.0, 3.0, 4.0, 6.0
#: A space longer than this, in units, is a line break and no character (start and five elements are 6).
BREAK_UNITS = 6.8
#: Paces that are tried where the speed swings or sags: as far as 15 per cent sag or 8 per cent swing with a wrong mean,
#: in steps that move the last boundary by 0.1 unit; what one step of change costs from one character to the next.
PACE_STEP, CHANGE = 0.015, 0.25
PACES = np.exp(np.arange(-8, 15) * PACE_STEP)
#: Most transitions looked at after a start; more than that inside a character is noise.
REACH = 14


@dataclass(frozen=True, slots=True, eq=False)
class Frames:
    """The characters found.

    Attributes:
        start: shape (n,), index into the transitions of each start.
        start_s: shape (n,), its instant S.
        elements: shape (n, 5), True where the element is mark.
        stopped: shape (n,), whether mark was there in the middle of the stop.
        complete: shape (n,), False where the recording ended within the character, unless it is a list of changes
            that left the line on mark.
        breaks_s: shape (b,), begin of each line break.
        skipped: number of mark-to-space transitions given up as noise.
        cost: total cost of the path divided by the number of transitions; the lower the better.
        pace: shape (n,), unit within each character as a multiple of the unit it was framed with; 1 where the framing
            did not have to follow the speed.
    """

    start: IntArray
    start_s: FloatArray
    elements: BoolArray
    stopped: BoolArray
    complete: BoolArray
    breaks_s: FloatArray
    skipped: int
    cost: float
    pace: FloatArray = field(default_factory=lambda: np.ones(1))

    @property
    def codes(self) -> list[str]:
        """Return the codes as text, element 1 first."""
        count = self.elements.shape[1]
        names = [format(number, f"0{count}b") for number in range(2**count)]
        return [names[number] for number in (self.elements @ (1 << np.arange(count)[::-1])).tolist()]


@dataclass(frozen=True, slots=True)
class Offsets:
    """How far the two directions lie from the grid, in units, for example from bias."""

    to_mark: float = 0.0
    to_space: float = 0.0


def find_frames(
    transitions: Transitions, unit_s: float, *, offsets: Offsets | None = None, elements: int = ELEMENTS
) -> Frames:
    """Find the characters in the transitions, given the length of the unit.

    Args:
        transitions: of the whole recording or a part of it.
        unit_s: length of the unit, within about three per cent.
        offsets: known displacement of the two directions, which makes the costs sharper.
        elements: number of elements in a character.
    """
    starts = np.flatnonzero(~transitions.to_mark)
    costs, levels = _cost_of_each_start(transitions, starts, unit_s, offsets or Offsets(), elements)
    follow = _next_start(transitions.first_s[starts], unit_s, elements)
    broken = _breaks(transitions, starts, unit_s, elements)
    chosen, total = _cheapest_path(costs, follow, np.where(broken, 0.5, SKIPPED))
    found = _Path(chosen, follow[chosen], levels[chosen], broken, np.ones(chosen.size), total)
    return _frames(transitions, starts, unit_s, elements, found)


def follow_frames(
    transitions: Transitions, unit_s: float, *, offsets: Offsets | None = None, elements: int = ELEMENTS
) -> Frames:
    """Find the characters of a sender whose speed swings or sags: each may have another pace, near that of the last.

    The path is then one through starts and paces, and a change of pace costs. It takes some ten times as long; the
    arguments are those of `find_frames`.
    """
    starts = np.flatnonzero(~transitions.to_mark)
    begin = transitions.first_s[starts]
    of_each = [
        _cost_of_each_start(transitions, starts, unit_s * pace, offsets or Offsets(), elements) for pace in PACES
    ]
    costs = np.array([each[0] for each in of_each]).T
    follow = np.array([_next_start(begin, unit_s * pace, elements) for pace in PACES]).T
    broken = _breaks(transitions, starts, unit_s * PACES[-1], elements)
    skip = np.where(broken, 0.5, SKIPPED)
    steps = np.arange(PACES.size)
    change = CHANGE * (steps[:, None] - steps[None, :]) ** 2.0
    best = np.zeros((starts.size + 1, PACES.size))
    onward, turn = np.zeros_like(best), np.zeros(best.shape, np.int64)
    take = np.zeros(best.shape, bool)
    turn[-1] = steps
    for i in range(starts.size - 1, -1, -1):
        taken, passed = costs[i] + onward[follow[i], steps], skip[i] + best[i + 1]
        take[i] = taken <= passed
        best[i] = np.where(take[i], taken, passed)
        both = best[i] + change
        turn[i] = both.argmin(axis=1)
        onward[i] = both[steps, turn[i]]
    chosen, paces, i, at = [], [], 0, int(best[0].argmin())
    while i < starts.size:
        if take[i, at]:
            chosen.append(i)
            paces.append(at)
            i = int(follow[i, at])
            at = int(turn[i, at])
        else:
            i += 1
    rows, columns = np.array(chosen, np.int64), np.array(paces, np.int64)
    levels = np.array([each[1] for each in of_each])[columns, rows]
    found = _Path(rows, follow[rows, columns], levels, broken, PACES[columns], float(best[0].min()))
    return _frames(transitions, starts, unit_s, elements, found)


@dataclass(frozen=True, slots=True, eq=False)
class _Path:
    """Starts chosen, where the next may be, levels and pace of each; which starts begin a break; the cost of all."""

    chosen: IntArray
    follow: IntArray
    levels: BoolArray
    broken: BoolArray
    pace: FloatArray
    cost: float


def _frames(line: Transitions, starts: IntArray, unit_s: float, elements: int, found: _Path) -> Frames:
    begin, chosen = line.first_s[starts], found.chosen
    begun = np.zeros(starts.size + 1, np.int64)
    begun[chosen] += 1
    begun[found.follow] -= 1  # frames do not overlap, so no place occurs twice
    skipped = np.cumsum(begun[:-1]) == 0
    return Frames(
        start=starts[chosen],
        start_s=begin[chosen],
        elements=found.levels[:, 1 : elements + 1],
        stopped=found.levels[:, elements + 1],
        complete=line.rests_after_end | (line.end_s >= begin[chosen] + (elements + 1.5) * unit_s * found.pace),
        breaks_s=begin[skipped & found.broken],
        skipped=int(np.count_nonzero(skipped & ~found.broken)),
        cost=found.cost / max(line.first_s.size, 1),
        pace=found.pace,
    )


def _next_start(begin_s: FloatArray, unit_s: float, elements: int) -> IntArray:
    """Return for each start the first one that may follow it."""
    return np.searchsorted(begin_s, begin_s + (elements + 1 + NEXT_START_UNITS_AFTER_LAST_ELEMENT) * unit_s)


def _cost_of_each_start(
    line: Transitions, starts: IntArray, unit_s: float, offsets: Offsets, elements: int
) -> tuple[FloatArray, BoolArray]:
    """Return for each possible start the cost of a frame there, and its levels, shape (n, elements + 2)."""
    begin = line.first_s[starts]
    # midway between where marks really begin and end, so that bias does not eat the margin of the reading
    look = 0.5 + (offsets.to_mark + offsets.to_space) / 2
    middles = begin[:, None] + (np.arange(elements + 2) + look) * unit_s
    levels = line.is_mark_at(middles)
    index = starts[:, None] + np.arange(1, REACH + 1)
    inside = index < line.first_s.size
    index = np.minimum(index, line.first_s.size - 1)
    place = (line.first_s[index] - begin[:, None]) / unit_s
    inside &= place < elements + 1.5
    place = place - np.where(line.to_mark[index], offsets.to_mark, offsets.to_space)
    deviation = place - np.round(place)
    fit = np.minimum((deviation / FIT_UNITS) ** 2, WORST_FIT)
    cost = np.where(inside, fit, 0.0).sum(axis=1)
    stop_before = begin - np.where(starts > 0, line.first_s[np.maximum(starts - 1, 0)], line.begin_s)
    cost += NO_START * levels[:, 0] + NO_STOP * ~levels[:, -1]
    cost += SHORT_STOP * ((stop_before < 0.55 * unit_s) & (starts > 0))
    if not line.begins_on_mark:
        cost += MAYBE_CUT_OFF * (begin - line.begin_s < (elements + 1.4) * unit_s)
    return cost, levels


def _breaks(line: Transitions, starts: IntArray, unit_s: float, elements: int) -> BoolArray:
    """Say for each start whether the space that follows it is longer than any character's."""
    ends = np.concatenate((line.first_s, [line.end_s]))[starts + 1]
    return np.asarray(ends - line.first_s[starts] > (BREAK_UNITS + elements - ELEMENTS) * unit_s)


def _cheapest_path(costs: FloatArray, follow: IntArray, skip: FloatArray) -> tuple[IntArray, float]:
    """Choose the starts: from each either take the frame and go to `follow`, or pay `skip` and go one on."""
    n = costs.size
    best = [0.0] * (n + 1)
    take = [False] * n
    cost, then, miss = costs.tolist(), follow.tolist(), skip.tolist()
    for i in range(n - 1, -1, -1):
        taken, passed = cost[i] + best[then[i]], miss[i] + best[i + 1]
        take[i] = taken <= passed
        best[i] = taken if take[i] else passed
    chosen, i = [], 0
    while i < n:
        if take[i]:
            chosen.append(i)
        i = then[i] if take[i] else i + 1
    return np.array(chosen, dtype=np.int64), best[0] if n else 0.0
