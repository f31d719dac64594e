"""A line between mark and space: the exact instants of its changes, before any instrument has seen it."""

from dataclasses import dataclass

import numpy as np

from tapewright.core.simulate.spans import BoolArray, FloatArray, union


@dataclass(frozen=True, slots=True, eq=False)
class LineSignal:
    """A two-state line from `begin_s` to `end_s`.

    Attributes:
        times_s: shape (n,), instants of change in seconds, increasing.
        mark_after: shape (n,), True where the line is mark after the change; alternates.
        starts_mark: state at `begin_s`.
        begin_s: where the signal begins.
        end_s: where it ends.
    """

    times_s: FloatArray
    mark_after: BoolArray
    starts_mark: bool
    begin_s: float
    end_s: float


def from_marks(marks: FloatArray, begin_s: float, end_s: float) -> LineSignal:
    """Make a line from the stretches in which it is mark, shape (n, 2); what lies outside is cut off."""
    marks = union(np.clip(marks, begin_s, end_s))
    times, after = marks.ravel(), np.tile([True, False], len(marks))
    starts = bool(times.size and times[0] <= begin_s)
    seen = (times > begin_s) & (times < end_s)
    return LineSignal(times[seen], after[seen], starts, begin_s, end_s)


def marks_of(line: LineSignal) -> FloatArray:
    """Give the stretches in which the line is mark, shape (n, 2)."""
    times = line.times_s
    if line.starts_mark:
        times = np.append(line.begin_s, times)
    if times.size % 2:
        times = np.append(times, line.end_s)
    return times.reshape(-1, 2)
