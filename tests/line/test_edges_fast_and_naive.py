"""Fast edge finding equals the naive one on random data, and does not depend on how the samples are cut."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from line.naive_edges import naive_edges
from tapewright.recordings.edges.analogue import EdgeStream, join
from tapewright.recordings.edges.blocks import Thresholds

LOW, MIDDLE, HIGH = 80.0, 100.0, 120.0


@st.composite
def signals(draw):
    """Runs on and between levels, long enough to fill several blocks, with bursts of anything in between."""
    kind = draw(st.sampled_from([np.uint8, np.int16, np.float32, np.float64]))
    parts = []
    for _ in range(draw(st.integers(1, 8))):
        if draw(st.booleans()):
            parts.append(np.full(draw(st.integers(1, 1500)), draw(st.sampled_from([10, 79, 80, 100, 120, 121, 200]))))
        else:
            parts.append(draw(hnp.arrays(np.uint8, st.integers(1, 40), elements=st.integers(0, 255))))
    samples = np.concatenate(parts).astype(kind)
    if samples.dtype.kind == "f" and draw(st.booleans()):
        holes = draw(st.lists(st.integers(0, samples.size - 1), max_size=5))
        samples[holes] = np.nan
    return samples


def stream():
    return EdgeStream(Thresholds(LOW, MIDDLE, HIGH), swing=200.0, noise=1.0)


@settings(deadline=None, max_examples=150)
@given(signals())
def test_fast_equals_naive(samples):
    fast = stream()
    found = fast.feed(samples)
    starts, expected = naive_edges(samples, LOW, MIDDLE, HIGH)
    assert fast.starts_high == starts
    assert found.at == pytest.approx([at for at, _ in expected], abs=1e-9)
    assert found.high.tolist() == [level for _, level in expected]


@settings(deadline=None, max_examples=100)
@given(signals(), st.lists(st.integers(0, 12_000), max_size=6))
def test_cut_anywhere_gives_the_same(samples, cuts):
    whole = stream().feed(samples)
    cut = stream()
    pieces = np.split(samples, sorted(min(at, samples.size) for at in cuts))
    parts = join([cut.feed(piece) for piece in pieces])
    assert parts.at == pytest.approx(whole.at, abs=1e-9)
    assert parts.u == pytest.approx(whole.u, abs=1e-9)
    assert parts.high.tolist() == whole.high.tolist()


def test_one_sample_at_a_time_gives_the_same():
    rng = np.random.default_rng(3)
    samples = np.repeat(rng.integers(0, 256, 60), rng.integers(1, 30, 60)).astype(np.float32)
    whole = stream().feed(samples)
    single = stream()
    parts = join([single.feed(samples[i : i + 1]) for i in range(samples.size)])
    assert whole.at.size > 10
    assert parts.at == pytest.approx(whole.at, abs=1e-9)
    assert parts.u == pytest.approx(whole.u, abs=1e-9)


def test_caller_may_use_its_buffer_again():
    samples = np.concatenate([np.full(600, 10.0), np.linspace(10, 200, 50), np.full(600, 200.0)])
    fed, buffer, parts = stream(), np.empty(100), []
    for first in range(0, samples.size, 100):
        piece = samples[first : first + 100]
        buffer[: piece.size] = piece
        parts.append(fed.feed(buffer[: piece.size]))
        buffer[:] = -1e9
    assert join(parts).at == pytest.approx(stream().feed(samples).at, abs=1e-9)
