"""Bursts of raw edges: what is a transition, what a bounce, what a dropout."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tapewright.line.transitions import find_transitions
from tapewright.recordings.capture import RawEdges


def raw(times, *, starts_high=True):
    times = np.asarray(times, float)
    levels = (np.arange(times.size) % 2 == 1) == starts_high
    return RawEdges(times, levels, np.full(times.size, 1e-6), starts_high, 0.0, 1.0)


def test_bounce_keeps_first_and_last_edge():
    line = find_transitions(raw([0.1, 0.2, 0.2005, 0.201, 0.2011, 0.202]), mark_is_high=True, settling_s=0.005)
    assert line.first_s.tolist() == [0.1, 0.2]
    assert line.last_s.tolist() == [0.1, 0.202]
    assert line.edges.tolist() == [1, 5]
    assert line.to_mark.tolist() == [False, True]


def test_a_burst_that_ends_where_it_began_is_a_dropout_not_a_transition():
    line = find_transitions(raw([0.1, 0.101, 0.3]), mark_is_high=True, settling_s=0.005)
    assert line.first_s.tolist() == [0.3]
    assert line.dropout_s.tolist() == [0.1]
    assert line.dropout_in_mark.tolist() == [True]


@given(st.lists(st.floats(1e-5, 0.05), max_size=60), st.booleans())
def test_transitions_alternate_and_no_edge_is_lost(gaps, mark_is_high):
    line = find_transitions(raw(0.01 + np.cumsum(gaps)), mark_is_high=mark_is_high, settling_s=0.005)
    assert not (line.to_mark[1:] == line.to_mark[:-1]).any()
    assert (len(gaps) - int(line.edges.sum())) % 2 == 0
    assert (line.first_s <= line.last_s).all()


def test_levels_between_transitions():
    line = find_transitions(raw([0.1, 0.2]), mark_is_high=True, settling_s=0.005)
    assert line.is_mark_at(np.array([0.05, 0.15, 0.25])).tolist() == [True, False, True]
