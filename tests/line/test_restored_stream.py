"""The restoring stream gives the same however the samples are cut."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from line.made_sound import keyed_line, sound
from tapewright.recordings.edges.coupling import first_order, response, second_order
from tapewright.recordings.edges.restored import RestoreStream

RATE_HZ = 8000
TRUTH_S, END_S = keyed_line(4, bounce_s=0.002)
SOUND = sound(TRUTH_S, END_S, rate_hz=RATE_HZ)


def stream():
    return RestoreStream(first_order(5.0), step=0.5, offset=0.0, rate_hz=RATE_HZ, starts_high=True)


WHOLE = stream().feed(SOUND)


@settings(deadline=None, max_examples=25)
@given(cuts=st.lists(st.integers(0, SOUND.size), max_size=8))
def test_cut_anywhere(cuts):
    cut = stream()
    parts = [cut.feed(piece) for piece in np.split(SOUND, sorted(cuts))]
    assert np.concatenate(parts) == pytest.approx(WHOLE, abs=1e-9)


def test_one_sample_at_a_time():
    single = stream()
    parts = [single.feed(SOUND[i : i + 1]) for i in range(4000)]
    assert np.concatenate(parts) == pytest.approx(WHOLE[:4000], abs=1e-9)


@pytest.mark.parametrize("coupling", [second_order(8.0, 0.7), second_order(8.0, 3.0), second_order(8.0, 1.0)])
def test_step_response_is_that_of_scipy(coupling):
    # witness: scipy.signal.step of s^2 / (s^2 + a s + b), the polynomial of the same poles
    from scipy import signal

    a, b = -coupling.poles_per_s.sum().real, np.prod(coupling.poles_per_s).real
    times = np.linspace(0, 0.2, 400)
    _, expected = signal.step(([1, 0, 0], [1, a, b]), T=times)
    found = response(coupling, np.array([0.0]), np.ones(1), times * 1000.0, 1000.0)
    # two equal poles are stood for by two that are nearly so
    assert found[1:] == pytest.approx(expected[1:], abs=2e-4)
