"""Which points lie near which: cells of a square grid, all at once.

Medians over a window that moves along an array, all at once.
"""

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from tapewright.pictures.picture import FloatArray, IntArray, Points


def pairs_within(z: Points, reach: float) -> tuple[IntArray, IntArray]:
    """Return all ordered pairs (i, j), i not j, of points closer than `reach`; two arrays of shape (m,)."""
    i, j = pairs_between(z, z, reach)
    return i[i != j], j[i != j]


def pairs_between(a: Points, b: Points, reach: float) -> tuple[IntArray, IntArray]:
    """Return all pairs (i, j) with a[i] closer than `reach` to b[j]; two arrays of shape (m,)."""
    if not (a.size and b.size):
        return np.empty(0, np.int64), np.empty(0, np.int64)
    left = min(a.real.min(), b.real.min())
    top, bottom = min(a.imag.min(), b.imag.min()), max(a.imag.max(), b.imag.max())
    stride = int((bottom - top) / reach) + 4

    def cell(z: Points) -> IntArray:
        across, down = np.floor((z.real - left) / reach), np.floor((z.imag - top) / reach)
        return np.asarray((across + 1) * stride + down + 1, np.int64)

    key = cell(b)
    order = np.argsort(key, kind="stable")
    ordered, wanted = key[order], cell(a)
    found = [_in_cell(wanted + dx * stride + dy, order, ordered) for dx in (-1, 0, 1) for dy in (-1, 0, 1)]
    i, j = (np.concatenate(part) for part in zip(*found, strict=True))
    near = np.abs(a[i] - b[j]) < reach
    return i[near], j[near]


def nearest_within(a: Points, b: Points, reach: float) -> tuple[IntArray, IntArray]:
    """Give, for each a[i] that has one, the nearest b[j] closer than `reach`; i increasing."""
    i, j = pairs_between(a, b, reach)
    order = np.lexsort((np.abs(a[i] - b[j]), i))
    i, j = i[order], j[order]
    first = np.ones(i.size, bool)
    first[1:] = i[1:] != i[:-1]
    return i[first], j[first]


def _in_cell(wanted: IntArray, order: IntArray, ordered: IntArray) -> tuple[IntArray, IntArray]:
    first = np.searchsorted(ordered, wanted, "left")
    count = np.searchsorted(ordered, wanted, "right") - first
    i = np.repeat(np.arange(wanted.size), count)
    return i, order[np.repeat(first, count) + counting(count)]


def counting(count: IntArray) -> IntArray:
    """Return 0, 1 .. count[0]-1, 0, 1 .. count[1]-1, and so on, in one array."""
    ends = np.cumsum(count)
    return np.arange(int(ends[-1]) if ends.size else 0) - np.repeat(ends - count, count)


def rolling_median(values: FloatArray, half: int) -> FloatArray:
    """Return at each place the median of the values up to `half` places away, fewer at the ends; NaN does not count."""
    pad = np.full(half, np.nan)
    near = np.sort(sliding_window_view(np.concatenate([pad, values, pad]), 2 * half + 1), axis=1)
    count = np.isfinite(near).sum(axis=1)
    row = np.arange(values.size)
    low, high = near[row, np.maximum(count - 1, 0) // 2], near[row, np.minimum(count // 2, 2 * half)]
    return np.asarray(np.where(count > 0, (low + high) / 2, np.nan))
