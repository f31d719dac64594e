r"""Lists of edges and tables of levels: from times and levels to edges.

Tables of levels with a time in each row: is each row a change, or is each row a sample?

From instants, however obtained, to the edges of a channel: in order, alternating, what is odd about them said.
"""

import numpy as np
import numpy.typing as npt

from tapewright.recordings.capture import BoolArray, FloatArray, RawEdges, Suspicion
from tapewright.recordings.edges.analogue import EdgeStream
from tapewright.recordings.edges.levels import find_levels

_NO_GAPS = np.empty((0, 2))


def make_edges(
    times_s: FloatArray,
    level_after: BoolArray,
    u_s: FloatArray,
    *,
    starts_high: bool | None,
    begin_s: float,
    end_s: float,
    missing: FloatArray = _NO_GAPS,
    suspicions: tuple[Suspicion, ...] = (),
    levels_known: bool = True,
    changes_only: bool = False,
) -> RawEdges:
    """Make RawEdges: put in order, drop changes to the level already held, keep edges out of missing stretches.

    Args:
        times_s: shape (n,), instants as recorded.
        level_after: shape (n,), the level after each.
        u_s: shape (n,), standard uncertainty of each.
        starts_high: level before the first.
        begin_s: begin of the recording.
        end_s: end of the recording.
        missing: shape (k, 2), stretches without a known level, overlapping ones allowed.
        suspicions: what was odd so far.
        levels_known: False for AC coupling.
        changes_only: the file lists changes and nothing between them, so where it ends with one its end is open.
    """
    missing = merge_stretches(missing)
    times_s, level_after, u_s, found = _in_order(times_s, level_after, u_s)
    times_s, u_s = _out_of_stretches(times_s, u_s, missing)
    if level_after.size:
        first = not level_after[0] if starts_high is None else starts_high
        changes = level_after != np.concatenate([[first], level_after[:-1]])
        times_s, level_after, u_s = times_s[changes], level_after[changes], u_s[changes]
        starts_high = bool(first)
    last_s = times_s.max(initial=-np.inf)
    end_s = float(max(begin_s, end_s, last_s))
    return RawEdges(
        times_s=times_s,
        level_after=level_after,
        u_s=u_s,
        starts_high=starts_high,
        begin_s=float(min(begin_s, end_s, times_s.min(initial=np.inf))),
        end_s=end_s,
        levels_known=levels_known,
        suspicions=(*suspicions, *found),
        missing=missing,
        open_end=changes_only and end_s <= last_s and not np.any(missing[:, 1:] >= end_s),
    )


def merge_stretches(stretches: FloatArray) -> FloatArray:
    """Join stretches, shape (k, 2), that overlap or touch; one whose time runs backwards is turned round."""
    stretches = np.sort(stretches.reshape(-1, 2), axis=1)
    if stretches.shape[0] < 2:
        return stretches
    ordered = stretches[np.argsort(stretches[:, 0], kind="stable")]
    reach = np.maximum.accumulate(ordered[:, 1])
    fresh = np.concatenate([[True], ordered[1:, 0] > reach[:-1]])
    ends = np.concatenate([np.flatnonzero(fresh)[1:] - 1, [reach.size - 1]])
    return np.column_stack([ordered[fresh, 0], reach[ends]])


def _in_order(
    times_s: FloatArray, level_after: BoolArray, u_s: FloatArray
) -> tuple[FloatArray, BoolArray, FloatArray, tuple[Suspicion, ...]]:
    """Sort by time when needed, and say so; edges at one and the same time are kept, and said."""
    if times_s.size < 2:
        return times_s, level_after, u_s, ()
    steps = np.diff(times_s)
    backwards, same = np.flatnonzero(steps < 0), np.flatnonzero(steps == 0)
    said = []
    if backwards.size:
        where = times_s[backwards[0] + 1]
        said.append(
            Suspicion(
                "time runs backwards",
                f"{backwards.size} of {steps.size} steps, first at {where:.6g} s",
                "Record again; until then trust no instant near the places named.",
            )
        )
        order = np.argsort(times_s, kind="stable")
        times_s, level_after, u_s = times_s[order], level_after[order], u_s[order]
    if same.size:
        said.append(
            Suspicion(
                "repeated timestamps",
                f"{same.size} changes carry the time of the one before, first at {times_s[same[0]]:.6g} s",
                "Export with more digits of time, or a finer time unit.",
            )
        )
    return times_s, level_after, u_s, tuple(said)


def _out_of_stretches(times_s: FloatArray, u_s: FloatArray, missing: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Put an edge that falls in a missing stretch at its end, with the whole stretch as its doubt."""
    if not missing.size or not times_s.size:
        return times_s, u_s
    which = np.searchsorted(missing[:, 0], times_s, side="right") - 1
    begin, end = missing[np.maximum(which, 0)].T
    inside = (which >= 0) & (times_s <= end)
    doubt = (end - begin) / 12**0.5
    return np.where(inside, end, times_s), np.where(inside, np.maximum(u_s, doubt), u_s)


def uniform_u(count: int, interval_s: float) -> npt.NDArray[np.float64]:
    """Uncertainty of `count` instants that each lie anywhere in an interval: interval / sqrt 12."""
    return np.full(count, interval_s / 12**0.5)


#: a table in which this share of the rows changes something was written change by change, not sample by sample
CHANGE_SHARE = 0.4
#: more different values than this come from a converter
MOST_LEVELS = 8


def is_two_valued(column: npt.NDArray[np.float64]) -> bool:
    """Return whether what is known of a column holds at most two values."""
    known = column[np.isfinite(column)]
    return not known.size or bool(((known == known.min()) | (known == known.max())).all())


def share_of_changes(columns: list[npt.NDArray[np.float64]]) -> float:
    """Return the share of rows, after the first, in which some column differs from the row before (NaN is a level)."""
    rows = columns[0].size
    if rows < 2:
        return 0.0
    moved = np.zeros(rows - 1, bool)
    for column in columns:
        filled = np.nan_to_num(column, nan=-1e300)
        moved |= filled[1:] != filled[:-1]
    return float(moved.mean())


def edges_of_changes(
    times_s: FloatArray,
    values: FloatArray,
    *,
    quantum_s: float,
    begin_s: float | None = None,
    end_s: float | None = None,
    first_is_state: bool | None = None,
    suspicions: tuple[Suspicion, ...] = (),
) -> RawEdges:
    """Make edges of a list of changes.

    Args:
        times_s: shape (n,), the time of each row.
        values: shape (n,), from that time on: above half the way between lowest and highest is high, NaN is not known.
        quantum_s: the smallest step of the written time; an instant is known to quantum / sqrt 12.
        begin_s: begin of the recording; None for the first row, or zero when that is earlier.
        end_s: end of the recording; None for the last row.
        first_is_state: the first row states the level held; None when that is so if its time is zero or before,
            and it is a change if its time is later.
        suspicions: what is odd so far.
    """
    known = np.isfinite(values)
    level = values > _middle(values[known])
    at = np.flatnonzero(known)
    changed_first = at.size > 0 and (times_s[at[0]] > 0 if first_is_state is None else not first_is_state)
    changed_first = changed_first and (at[0] == 0)  # what comes after a stretch that is not known is no change
    if at.size > 1 and first_is_state is None and times_s[at[0]] == times_s[at[1]]:
        changed_first = False  # written as a pair, the old level and the new at one time
    if begin_s is None:
        begin_s = float(times_s.min(initial=0.0 if changed_first or not times_s.size else np.inf))
    if end_s is None:
        end_s = float(times_s.max(initial=begin_s))
    return make_edges(
        times_s[at],
        level[at],
        uniform_u(at.size, quantum_s),
        starts_high=bool(level[at[0]]) ^ bool(changed_first) if at.size else None,
        begin_s=begin_s,
        end_s=end_s,
        missing=_unknown_stretches(times_s, known, end_s),
        suspicions=suspicions,
        changes_only=True,
    )


def edges_of_held_values(
    times_s: FloatArray,
    values: FloatArray,
    *,
    quantum_s: float,
    begin_s: float,
    end_s: float,
    first_is_state: bool | None = None,
) -> RawEdges:
    """Make edges of a list of values that take more than two levels; arguments as for `edges_of_changes`.

    A value holds until the next, so an edge is at the time of the first value on the other side. Of a sampled slope the
    recorder saw no more than a value each sample: then no edge is known better than to the smallest step of time.
    """
    levels = find_levels(values)
    if levels is None or not levels.two:
        return edges_of_changes(
            times_s[:0], values[:0], quantum_s=quantum_s, begin_s=begin_s, end_s=end_s, first_is_state=first_is_state
        )
    stream = EdgeStream.for_levels(levels)
    found = stream.feed(values)
    steps = np.diff(times_s)
    steps = steps[steps > 0]
    if steps.size and np.unique(values[np.isfinite(values)]).size > MOST_LEVELS:
        quantum_s = max(quantum_s, float(steps.min()))
    return make_edges(
        times_s[np.ceil(found.at).astype(np.int64)],
        found.high,
        uniform_u(found.at.size, quantum_s),
        starts_high=stream.starts_high,
        begin_s=begin_s,
        end_s=end_s,
        missing=_unknown_stretches(times_s, np.isfinite(values), end_s),
        changes_only=True,
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
        changes_only=True,
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
