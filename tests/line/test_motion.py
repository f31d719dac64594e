"""A motor that warms up is no governor that hunts, and one that hunts is not taken for one that warms up.

The senders are made by hand (other_signals.py): characters at a speed that is a given function of time.
"""

import numpy as np
import pytest
from scipy.fft import next_fast_len

from line.other_signals import moving_edges, start_stop
from tapewright.alphabets import ITA2
from tapewright.line.document import LineSettings
from tapewright.line.measure import measure_line
from tapewright.line.ripple import _fast_length

T = 0.022


def measured(unit_at, seed, count=300, by_hand=False):
    rng = np.random.default_rng(seed)
    rest = (lambda: float(rng.exponential(3))) if by_hand else (lambda: 0.0)
    levels = start_stop(rng.integers(1, 32, count).tolist(), 5, stop=1.5, rest=rest)
    edges, _ = moving_edges(levels, unit_at, seed)
    found = measure_line(edges, LineSettings(ITA2, nominal_baud=1 / T))
    return found, np.array([unit_at(s) for s in found.trace.frames.start_s])


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("by_hand", [False, True])
@pytest.mark.parametrize(("share", "time_s"), [(0.003, 10.0), (0.01, 15.0), (0.01, 60.0), (-0.006, 20.0)])
def test_warming_is_a_drift_and_no_swing(share, time_s, by_hand, seed):
    found, truth = measured(lambda t: T * (1 + share * np.exp(-t / time_s)), seed, by_hand=by_hand)
    assert found.speed.ripple_percent.value is None
    assert "governor or drive" not in [finding.part for finding in found.findings]
    faster = 100 * (truth[0] / truth[-1] - 1)
    assert found.speed.drift_percent.value == pytest.approx(faster, rel=0.5, abs=0.05)
    unit = found.speed.unit_ms
    assert abs(unit.value - 1e3 * truth.mean()) < 3 * unit.u + 2e-4


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize(("hz", "percent"), [(0.7, 0.5), (2.0, 0.8), (0.2, 1.0)])
@pytest.mark.parametrize("warming", [0.0, 0.006])
def test_hunting_is_found_with_warming_and_without(hz, percent, warming, seed):
    found, _ = measured(
        lambda t: T * (1 + warming * np.exp(-t / 20)) * (1 + percent / 100 * np.cos(2 * np.pi * hz * t + seed)), seed
    )
    speed = found.speed
    assert speed.ripple_hz.value == pytest.approx(hz, abs=0.03)
    assert speed.ripple_percent.value == pytest.approx(percent, abs=max(0.15 * percent, 2.5 * speed.ripple_percent.u))


def test_a_steady_sender_neither_drifts_nor_hunts():
    for seed in range(8):
        found, _ = measured(lambda t: T, seed)
        assert found.speed.ripple_percent.value is None
        assert abs(found.speed.drift_percent.value) < 4 * found.speed.drift_percent.u


def test_the_length_of_a_transform_is_that_of_a_numerical_library():
    lengths = [*range(1, 3000), *(10**k + 7 for k in range(4, 8))]
    assert [_fast_length(n) for n in lengths] == [next_fast_len(n, real=True) for n in lengths]  # scipy.fft
