"""Tables of levels with a time in each row: is each row a change, or is each row a sample?"""

import numpy as np
import numpy.typing as npt

from tapewright.core.line.capture import BoolArray, FloatArray, RawEdges, Suspicion
from tapewright.core.line.edges.lists import make_edges, uniform_u

#: a table in which this share of the rows changes something was written change by change, not sample by sample
CHANGE_SHARE = 0.4


def share_of_changes(columns: list[npt.NDArray[np.float64]]) -> float:
    """Give the share of rows, after the first, in which some column differs from the row before (NaN is a level)."""
    rows = columns[0].size
    if rows < 2:
        return 0.0
    moved = np.zeros(rows - 1, bool)
    for column in columns:
        filled = np.nan_to_num(column, nan=-1e300)
        moved |= filled[1:] != filled[:-1]
    return float(moved.mean())


def edges_of_changes(
    times_s: FloatArray, values: FloatArray, *, quantum_s: float, suspicions: tuple[Suspicion, ...] = ()
) -> RawEdges:
    """Make edges of a list of changes.

    Args:
        times_s: shape (n,), the time of each row.
        values: shape (n,), from that time on: above half the way between lowest and highest is high, NaN is not known.
        quantum_s: the smallest step of the written time; an instant is known to quantum / sqrt 12.
        suspicions: what is odd so far.
    """
    known = np.isfinite(values)
    level = values > _middle(values[known])
    begin_s, end_s = (float(times_s.min()), float(times_s.max())) if times_s.size else (0.0, 0.0)
    missing = _unknown_stretches(times_s, known, end_s)
    at = np.flatnonzero(known)
    # a first row at or before zero states the level held; a first row after zero is itself a change
    begins_with_change = at.size > 0 and times_s[at[0]] > 0
    starts_high = bool(level[at[0]]) ^ begins_with_change if at.size else None
    begin_s = min(begin_s, 0.0) if begins_with_change else begin_s
    return make_edges(
        times_s[at],
        level[at],
        uniform_u(at.size, quantum_s),
        starts_high=starts_high,
        begin_s=begin_s,
        end_s=end_s,
        missing=missing,
        suspicions=suspicions,
    )


def edges_of_alternating_times(
    times_s: FloatArray, *, starts_high: bool, quantum_s: float, suspicions: tuple[Suspicion, ...] = ()
) -> RawEdges:
    """Make edges of bare times, shape (n,), at each of which the level changes."""
    level: BoolArray = (np.arange(times_s.size) % 2 == 0) ^ starts_high
    begin_s, end_s = (float(times_s.min()), float(times_s.max())) if times_s.size else (0.0, 0.0)
    return make_edges(
        times_s,
        level,
        uniform_u(times_s.size, quantum_s),
        starts_high=starts_high,
        begin_s=begin_s,
        end_s=end_s,
        suspicions=suspicions,
    )


def _middle(values: FloatArray) -> float:
    """Half way between the lowest and the highest; a list that never changes is high when it is above zero."""
    if not values.size:
        return 0.0
    low, high = float(values.min()), float(values.max())
    return low / 2 + high / 2 if high > low else 0.0


def _unknown_stretches(times_s: FloatArray, known: BoolArray, end_s: float) -> FloatArray:
    """From each row that is not known to the next that is."""
    if known.all():
        return np.empty((0, 2))
    bounds = np.concatenate([[False], ~known, [False]])
    change = np.flatnonzero(bounds[1:] != bounds[:-1]).reshape(-1, 2)
    times_s = np.append(times_s, end_s)
    return np.column_stack([times_s[change[:, 0]], times_s[change[:, 1]]])
