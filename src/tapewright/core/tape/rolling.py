"""Medians over a window that moves along an array, all at once."""

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from tapewright.core.tape.picture import FloatArray


def rolling_median(values: FloatArray, half: int) -> FloatArray:
    """Give at each place the median of the values up to `half` places away, fewer at the ends; NaN does not count."""
    pad = np.full(half, np.nan)
    near = np.sort(sliding_window_view(np.concatenate([pad, values, pad]), 2 * half + 1), axis=1)
    count = np.isfinite(near).sum(axis=1)
    row = np.arange(values.size)
    low, high = near[row, np.maximum(count - 1, 0) // 2], near[row, np.minimum(count // 2, 2 * half)]
    return np.asarray(np.where(count > 0, (low + high) / 2, np.nan))
