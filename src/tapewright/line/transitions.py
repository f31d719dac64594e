r"""Transitions: bursts of raw edges that end on the other level. Nothing is smoothed; the bounce is kept as a figure.

Picture (| = raw edge; settling window w):

    mark              +--+ +-+ +---------      first edge = the instant
                      |  | | | |               last - first = the bounce
    space  -----------+  +-+ +-+               5 edges, ends on mark: one transition to mark
                      ^first   ^last

    mark   ----+ +-+ +------------             4 edges, ends where it began:
    space      +-+ +-+                         a dropout, counted and placed, not dropped

A burst is a run of edges each closer than the settling window to the one before.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.recordings.capture import BoolArray, FloatArray, RawEdges

#: Settling window as a share of the unit: above the gaps inside a bounce (general switch tests: mean 1.6 ms
#: and 6.2 ms at most for the whole bounce), below the shortest element that still decodes (0.5 unit).
SETTLING_UNITS = 0.25
#: A burst longer than this is chatter: its first edge says nothing about when the line really changed.
CHATTER_UNITS = 0.6


@dataclass(frozen=True, slots=True, eq=False)
class Transitions:
    """Level changes of the line that held, and the dropouts between them.

    Attributes:
        first_s: shape (n,), first edge of each burst: the instant.
        last_s: shape (n,), last edge; last - first is the bounce.
        edges: shape (n,), number of raw edges in the burst (odd).
        to_mark: shape (n,), True for space to mark; alternates.
        u_s: shape (n,), standard uncertainty of the instant from the instrument.
        dropout_s: shape (m,), first edge of each burst that ended on the level it began on.
        dropout_length_s: shape (m,), from its first to its last edge.
        dropout_gap_s: shape (m,), from its first to its second edge: how long the line was away before it bounced.
        dropout_in_mark: shape (m,), True when the line stood on mark.
        begins_on_mark: level before the first transition.
        begin_s: begin of the recording.
        end_s: end of the recording.
        rests_after_end: the recording is a list of changes that ends with a change to mark: no later one is listed,
            so the line is taken to have stayed on mark.
    """

    first_s: FloatArray
    last_s: FloatArray
    edges: FloatArray
    to_mark: BoolArray
    u_s: FloatArray
    dropout_s: FloatArray
    dropout_length_s: FloatArray
    dropout_gap_s: FloatArray
    dropout_in_mark: BoolArray
    begins_on_mark: bool
    begin_s: float
    end_s: float
    rests_after_end: bool = False

    def chatter(self, unit_s: float) -> BoolArray:
        """Say for each transition, shape (n,), whether its burst is too long to be a bounce."""
        return np.asarray(self.last_s - self.first_s > CHATTER_UNITS * unit_s)

    def is_mark_at(self, times_s: FloatArray) -> BoolArray:
        """Return the level at any times (any shape), by the last transition before each."""
        place = np.searchsorted(self.first_s, times_s, side="right") - 1
        known = self.to_mark[np.maximum(place, 0)] if self.to_mark.size else np.zeros(place.shape, bool)
        return np.where(place >= 0, known, self.begins_on_mark)


def find_transitions(edges: RawEdges, *, mark_is_high: bool, settling_s: float) -> Transitions:
    """Group raw edges into transitions and dropouts.

    Args:
        edges: every edge of the recording.
        mark_is_high: whether the idle (mark) level is the high one.
        settling_s: edges closer together than this belong to one burst.
    """
    times, marks = edges.times_s, edges.level_after == mark_is_high
    if not times.size:
        empty = np.empty(0)
        none = np.empty(0, bool)
        on_mark = edges.starts_high is None or edges.starts_high == mark_is_high
        return Transitions(
            empty, empty, empty, none, empty, empty, empty, empty, none, on_mark, edges.begin_s, edges.end_s
        )
    first = np.flatnonzero(np.concatenate(([True], np.diff(times) >= settling_s)))
    last = np.concatenate((first[1:], [times.size])) - 1
    counts = last - first + 1
    held = counts % 2 == 1
    a, b, lost_a, lost_b = first[held], last[held], first[~held], last[~held]
    return Transitions(
        first_s=times[a],
        last_s=times[b],
        edges=counts[held].astype(float),
        to_mark=np.asarray(marks[b]),
        u_s=edges.u_s[a],
        dropout_s=times[lost_a],
        dropout_length_s=times[lost_b] - times[lost_a],
        dropout_gap_s=times[lost_a + 1] - times[lost_a],
        dropout_in_mark=np.asarray(marks[lost_b]),
        begins_on_mark=not bool(marks[0]),
        begin_s=edges.begin_s,
        end_s=edges.end_s,
        rests_after_end=edges.open_end and bool(marks[-1]),
    )
