"""Whole, one sample at a time, cut anywhere: the same answer, to the last bit."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as budget
from hypothesis import strategies as st

from line.live.signals import sampled, sent, settings
from tapewright.line.live.live_edges import LiveEdges
from tapewright.line.live.live_line import LiveLine
from tapewright.line.live.watch_json import event_line

RATE_HZ = 4000.0
BAUD = 75.0
TEXT = "RY FOX 12"


@pytest.fixture(scope="module")
def signal():
    return sampled(sent(TEXT, unit_s=1 / BAUD), RATE_HZ)


@pytest.fixture(scope="module")
def sagging():
    return sampled(sent("RYRY THE FOX", unit_s=1 / BAUD), RATE_HZ, ac_hz=3.0)


def fed(samples, cuts, baud=BAUD):
    line = LiveLine(settings(baud), RATE_HZ)
    events = []
    for first, last in zip([0, *cuts], [*cuts, samples.size], strict=True):
        events += [event_line(e) for e in line.feed(samples[first:last])]
    return events + [event_line(e) for e in line.finish()]


def edges_of(samples, cuts):
    live = LiveEdges(RATE_HZ)
    found = []
    for first, last in zip([0, *cuts], [*cuts, samples.size], strict=True):
        found += list(live.hops(samples[first:last]))
    found.append(live.finish())
    return [np.concatenate([getattr(f, name) for f in found]) for name in ("times_s", "level_after", "u_s")]


@pytest.mark.parametrize("which", ["signal", "sagging"])
def test_one_sample_at_a_time(which, request):
    samples = request.getfixturevalue(which)
    one_by_one = list(range(1, samples.size))
    for whole, single in zip(edges_of(samples, []), edges_of(samples, one_by_one), strict=True):
        assert np.array_equal(whole, single)
        assert whole.size > 20
    assert fed(samples, one_by_one) == fed(samples, [])


@given(cuts=st.lists(st.integers(0, 7_000), max_size=12).map(sorted))
@budget(max_examples=4, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_cut_anywhere(cuts, signal):
    cuts = [min(c, signal.size) for c in cuts]
    whole = test_cut_anywhere.whole = getattr(test_cut_anywhere, "whole", None) or fed(signal, [])
    assert fed(signal, cuts) == whole


def test_what_was_sent_is_read(signal):
    characters = [e for e in fed(signal, [1000, 1001, 3000]) if e["kind"] == "character"]
    assert "".join(e["text"] for e in characters) == TEXT
    truth = sent(TEXT, unit_s=1 / BAUD)
    starts = np.array([e["start_s"] for e in characters])
    # an edge at 4 kHz, band-limited: within a tenth of the sample interval
    assert starts == pytest.approx(truth.start_s, abs=0.1 / RATE_HZ)
