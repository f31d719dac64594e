"""Unions and cuts of stretches against counting on a fine grid."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tapewright.practice.line_signal import inside, union, without

ends = st.tuples(st.integers(0, 40), st.integers(0, 12))
spans = st.lists(ends, max_size=8).map(lambda pairs: np.array([(a, a + n) for a, n in pairs], float).reshape(-1, 2))
GRID = np.arange(0.5, 60)


def covered(stretches):
    return np.array([any(a <= g < b for a, b in stretches) for g in GRID])


@given(spans)
def test_union_covers_the_same_and_is_disjoint(stretches):
    joined = union(stretches)
    assert (covered(joined) == covered(stretches)).all()
    assert (joined[1:, 0] > joined[:-1, 1]).all()
    assert (inside(GRID, joined) == covered(stretches)).all()


@given(spans, spans)
def test_without_is_what_is_left(stretches, cut):
    assert (covered(without(stretches, cut)) == (covered(stretches) & ~covered(cut))).all()
