"""Traces of samples and of edges, the bytes they go over in, and what is kept of them."""

import threading
import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapewright.bench.traces.kept import Kept
from tapewright.bench.traces.sampled import SteppedTrace, take_samples
from tapewright.bench.traces.wire import pack, unpack
from tapewright.recordings.capture import RawEdges
from tapewright.recordings.edges.clock import KnottedClock, RegularClock


class Reader:
    def __init__(self, samples):
        self.samples, self.count = samples, samples.size

    def read(self, first, count):
        return [self.samples[first : first + count]]


def sampled(tmp_path, samples, clock):
    return take_samples(Reader(samples), clock, tmp_path / "samples", lambda _: None)


def test_a_close_look_gives_every_sample_at_its_time(tmp_path):
    samples = np.arange(100_000, dtype=">i2")
    trace = sampled(tmp_path, samples, RegularClock(1e-4, begin_s=2.0))
    window = trace.window(4.0, 4.01, 1000)
    assert window.each
    # one sample beyond either end, so that the line reaches the edge of the plot
    assert window.low.tolist() == list(range(19_999, 20_101))
    assert window.times_s == pytest.approx(2.0 + np.arange(19_999, 20_101) * 1e-4)
    assert (trace.begin_s, trace.end_s) == pytest.approx((2.0, 11.9999))


def test_uneven_time_is_kept(tmp_path):
    clock = KnottedClock(np.array([0.0, 10.0, 20.0]), np.array([0.0, 1.0, 11.0]))
    window = sampled(tmp_path, np.arange(21.0), clock).window(0.5, 3.0, 100)
    assert dict(zip(window.low.tolist(), window.times_s.tolist(), strict=True))[11.0] == pytest.approx(2.0)


def test_the_samples_go_when_it_is_closed(tmp_path):
    trace = sampled(tmp_path, np.zeros(10), RegularClock(1.0))
    trace.close()
    assert not (tmp_path / "samples").exists()


edge_times = st.lists(st.floats(0.001, 9.999), min_size=0, max_size=60, unique=True).map(sorted)


@given(
    times=edge_times, starts=st.booleans(), columns=st.integers(1, 40),
    ends=st.tuples(st.floats(0, 10), st.floats(0, 10)),
)  # fmt: skip
def test_columns_of_edges_are_what_the_level_does_in_them(times, starts, columns, ends):
    times = np.array(times)
    after = np.array([(i % 2 == 0) != starts for i in range(times.size)], bool)
    trace = SteppedTrace(RawEdges(times, after, np.zeros(times.size), starts, 0.0, 10.0))
    from_s, to_s = sorted(ends)
    window = trace.window(from_s, to_s, columns)

    def level(t):
        before = [bool(a) for time_, a in zip(times, after, strict=True) if time_ < t]
        return before[-1] if before else starts

    if not to_s > from_s:
        assert window.times_s.size == 0
    elif window.each:
        inside = times[(times >= from_s) & (times < to_s)]
        assert window.times_s.tolist() == [from_s, *np.repeat(inside, 2), to_s]
        assert np.diff(window.times_s).min(initial=0) >= 0
        assert window.low[0] == level(from_s)
        assert window.low[-1] == level(to_s)
    else:
        bounds = np.linspace(from_s, to_s, columns + 1)
        for a, b, low, high in zip(bounds[:-1], bounds[1:], window.low, window.high, strict=True):
            moves = ((times >= a) & (times < b)).any()
            assert (low, high) == ((0, 1) if moves else (level(a), level(a)))


kinds = st.sampled_from(["f8", "f4", ">f8", "i8", "i2", "u1", "bool"])


@given(st.lists(st.tuples(kinds, st.integers(0, 40)), max_size=5))
def test_arrays_come_back_as_they_were_sent(wanted):
    arrays = {f"a{i}": np.arange(n).astype(kind) for i, (kind, n) in enumerate(wanted)}
    head, back = unpack(pack(arrays, unit_ms=22.0, words="Skerry Point, ± 0.1"))
    assert (head["unit_ms"], head["words"]) == (22.0, "Skerry Point, ± 0.1")
    assert all(each["at"] % 8 == 0 for each in head["arrays"])
    sent = {name: array.astype(float).tolist() for name, array in arrays.items()}
    assert {name: array.tolist() for name, array in back.items()} == sent


class Study:
    def __init__(self, size=1):
        self.size_bytes, self.open = size, True

    def close(self):
        self.open = False


def test_no_more_is_kept_than_was_said():
    kept = Kept(most=3, most_bytes=10)
    studies = [kept.get(str(i), lambda _: Study()) for i in range(5)]
    assert [study.open for study in studies] == [False, False, True, True, True]
    big = kept.get("big", lambda _: Study(10))
    assert [study.open for study in studies] == [False] * 5
    assert big.open
    assert kept.get("over", lambda _: Study(99)).open  # the one just asked for always stays
    kept.close()


def test_two_who_ask_at_once_wait_for_one_piece_of_work():
    kept, made = Kept(), []

    def make(folder):
        time.sleep(0.05)
        made.append(folder)
        return Study()

    asking = [threading.Thread(target=kept.get, args=("same", make)) for _ in range(4)]
    for each in asking:
        each.start()
    for each in asking:
        each.join()
    assert len(made) == 1
    kept.close()
    assert not made[0].exists()
