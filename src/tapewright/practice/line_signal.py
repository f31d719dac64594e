"""A line between mark and space: the exact instants of its changes, before any instrument has seen it.

Stretches of time: arrays of shape (n, 2) of begin and end, in seconds.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

NOTHING: FloatArray = np.empty((0, 2))


def union(spans: FloatArray) -> FloatArray:
    """Join stretches that overlap or touch; drop those that end before they begin. Sorted by begin."""
    spans = spans[spans[:, 1] > spans[:, 0]]
    if not spans.size:
        return NOTHING
    spans = spans[np.argsort(spans[:, 0], kind="stable")]
    reach = np.maximum.accumulate(spans[:, 1])
    first = np.append(True, spans[1:, 0] > reach[:-1])
    last = np.append(first[1:], True)
    return np.column_stack([spans[first, 0], reach[last]])


def without(spans: FloatArray, cut: FloatArray) -> FloatArray:
    """Return what is left of the stretches `spans` outside the stretches `cut`."""
    spans, cut = union(spans), union(cut)
    if not spans.size or not cut.size:
        return spans
    points = np.unique(np.concatenate([spans.ravel(), cut.ravel()]))
    pieces = np.column_stack([points[:-1], points[1:]])
    middle = pieces.mean(axis=1)
    return union(pieces[inside(middle, spans) & ~inside(middle, cut)])


def inside(times_s: FloatArray, spans: FloatArray) -> BoolArray:
    """Say for each time whether it lies in one of the stretches, which must be a union."""
    if not spans.size:
        return np.zeros(times_s.shape, dtype=bool)
    at = np.searchsorted(spans[:, 0], times_s, side="right") - 1
    return np.asarray((at >= 0) & (times_s < spans[np.maximum(at, 0), 1]))


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
    """Return the stretches in which the line is mark, shape (n, 2)."""
    times = line.times_s
    if line.starts_mark:
        times = np.append(line.begin_s, times)
    if times.size % 2:
        times = np.append(times, line.end_s)
    return times.reshape(-1, 2)
