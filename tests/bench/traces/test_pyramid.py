"""The reduction against the plain one: least and greatest of each column, taken one column after the other."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from tapewright.bench.traces.pyramid import BLOCK, FAN, PyramidBuilder

KINDS = (np.int16, np.uint8, np.float32, np.int32)


def built(samples, pieces=1):
    builder = PyramidBuilder()
    size = max(BLOCK, -(-samples.size // pieces // BLOCK) * BLOCK)
    for first in range(0, samples.size, size):
        builder.add(samples[first : first + size])
    return builder.done()


def plainly(samples, columns):
    """Least and greatest by the slow way, written without any of the code under test."""
    pairs = list(zip(columns.bounds[:-1].tolist(), columns.bounds[1:].tolist(), strict=True))
    low = [min(samples[a:b].tolist()) for a, b in pairs]
    high = [max(samples[a:b].tolist()) for a, b in pairs]
    return low, high


@given(
    kind=st.sampled_from(KINDS), size=st.integers(1, 3 * BLOCK * FAN * FAN), seed=st.integers(0, 2**32 - 1),
    ends=st.tuples(st.floats(0, 1), st.floats(0, 1)), width=st.integers(1, 700), pieces=st.integers(1, 5),
)  # fmt: skip
def test_columns_are_the_least_and_greatest_of_their_samples(kind, size, seed, ends, width, pieces):
    rng = np.random.default_rng(seed)
    samples = (rng.standard_normal(size) * 100).astype(kind)
    first, last = sorted(int(end * size) for end in ends)
    first = min(first, size - 1)
    last = max(last, first + 1)
    columns = built(samples, pieces).columns(first, last, width, lambda a, b: samples[a:b])
    low, high = plainly(samples, columns)
    assert columns.low.tolist() == low
    assert columns.high.tolist() == high
    assert columns.low.size <= width or columns.low.size == last - first
    # nothing of the window is left out, and no more than a block is added at either end
    step = max(1, (last - first) / width)
    assert columns.bounds[0] <= first < columns.bounds[0] + max(step, 1)
    assert last <= columns.bounds[-1] <= min(size, last + step)


@given(hnp.arrays(np.float32, st.integers(1, 5000), elements=st.floats(width=32, allow_nan=True, allow_infinity=False)))
def test_what_is_not_known_hides_nothing_that_is(samples):
    columns = built(samples).columns(0, samples.size, 7, lambda a, b: samples[a:b])
    for a, b, low, high in zip(columns.bounds[:-1], columns.bounds[1:], columns.low, columns.high, strict=True):
        known = samples[a:b][~np.isnan(samples[a:b])]
        assert np.isnan(low) if not known.size else low == known.min()
        assert np.isnan(high) if not known.size else high == known.max()


def test_one_sample_among_millions_is_seen_at_every_zoom():
    samples = np.zeros(5_000_000, np.int16)
    samples[3_210_987] = 77
    pyramid = built(samples, 5)
    for size in (5_000_000, 1_000_000, 50_000, 1_000, 10):
        first = max(0, 3_210_987 - size // 2)
        columns = pyramid.columns(first, first + size, 500, lambda a, b: samples[a:b])
        assert columns.high.max() == 77
        assert (columns.high > 0).sum() == 1


def test_a_window_costs_the_same_whatever_the_recording():
    """The samples themselves are read only where a column is shorter than a block: at most width blocks."""
    samples = np.zeros(2_000_000, np.int16)
    pyramid, read = built(samples), []
    for size in (100, 10_000, 1_000_000, 2_000_000):
        pyramid.columns(0, size, 1000, lambda a, b: (read.append(b - a), samples[a:b])[1])
    assert max(read) <= 1000 * BLOCK


def test_only_the_last_piece_may_be_ragged():
    builder = PyramidBuilder()
    builder.add(np.zeros(BLOCK + 1))
    with pytest.raises(ValueError, match="last piece"):
        builder.add(np.zeros(BLOCK))


def test_no_samples_at_all():
    pyramid = PyramidBuilder().done()
    assert pyramid.columns(0, 0, 100, lambda a, b: np.empty(0)).low.size == 0
