"""Stretches of time: arrays of shape (n, 2) of begin and end, in seconds."""

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
    """Give what is left of the stretches `spans` outside the stretches `cut`."""
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
