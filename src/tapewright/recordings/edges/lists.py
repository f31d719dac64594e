"""From instants, however obtained, to the edges of a channel: in order, alternating, what is odd about them said."""

import numpy as np
import numpy.typing as npt

from tapewright.recordings.capture import BoolArray, FloatArray, RawEdges, Suspicion

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
