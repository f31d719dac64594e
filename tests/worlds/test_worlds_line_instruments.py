"""What instruments make of a line against scipy and arithmetic; hard lines are still what they say."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import signal as sig

from worlds.line.hard import HARD
from worlds.line.instrument import Instrument, record_steps, steps_seen
from worlds.line.machines import MACHINES
from worlds.line.truth import Stretches

SOME = list(range(3))


# ---- instruments


def test_slow_edges_and_coupling_answer_as_scipy_says():
    # scipy.signal.lsim of 1 / (1 + s a) and s b / (1 + s b); the input holds between samples, so it is exact too
    a, b, steps_s = 1.5e-3, 12e-3, np.array([0.01, 0.03, 0.034, 0.08])
    volts = np.array([1.0, 0.0, 1.0, 0.0, 1.0]) * 5
    t = np.arange(12000) * 1e-5
    u = volts[np.searchsorted(steps_s, t + 1e-9, side="right")]
    ours = steps_seen(steps_s, volts, t, Instrument("x", 1e6, rise_s=a, fall_s=a))
    _, low, _ = sig.lsim(sig.TransferFunction([1], [a, 1]), u - 5, t, interp=False)
    assert ours == pytest.approx(low + 5, abs=1e-7)
    coupled = steps_seen(steps_s, volts, t, Instrument("x", 1e6, rise_s=a, fall_s=a, coupling_s=b))
    _, both, _ = sig.lsim(sig.TransferFunction([b, 0], [a * b, a + b, 1]), u - 5, t, interp=False)
    assert coupled == pytest.approx(both, abs=1e-7)


def test_half_height_is_reached_after_tau_ln_two():
    scope = Instrument("x", 1e6, rise_s=1e-3, fall_s=0.4e-3, mark_v=1.0)
    samples = record_steps(np.array([0.02, 0.05]), np.array([1.0, 0, 1]), 0.1, scope, np.random.default_rng(0))
    fall, rise = np.nonzero(np.diff((samples > 0.5).astype(int)))[0] / 1e6
    assert fall == pytest.approx(0.02 + 0.4e-3 * np.log(2), abs=2e-6)
    assert rise == pytest.approx(0.05 + 1e-3 * np.log(2), abs=2e-6)
    assert scope.mark_longer_ms == pytest.approx((fall - 0.02 - (rise - 0.05)) * 1e3, abs=4e-3)


def test_converter_clock_and_hum():
    rng = np.random.default_rng(0)
    scope = Instrument("x", 1e4, clock_ppm=500.0, mark_v=3.0, bits=8, range_v=(-1, 5), hum_v=0.5, hum_hz=50.0)
    counts = record_steps(np.array([]), np.array([3.0]), 20.0, scope, rng)
    volts = -1 + counts * 6 / 255
    assert len(counts) == int(20e4 / 1.0005)
    spectrum = np.abs(np.fft.rfft((volts - 3) * np.hanning(len(volts)))) * 4 / len(volts)
    assert np.max(spectrum) == pytest.approx(0.5, rel=0.02)
    # a clock whose intervals are too long shows a tone too high
    assert np.argmax(spectrum) / (len(volts) / 1e4) == pytest.approx(50 * 1.0005, abs=0.04)
    t = np.arange(len(volts)) * 1.0005e-4
    error = volts - 3 - 0.5 * np.sin(2 * np.pi * 50 * t)
    assert np.std(error) == pytest.approx(6 / 255 / 12**0.5, rel=0.1)  # a step of a converter: q / sqrt(12)


def test_a_steep_filter_keeps_levels_and_overshoots_a_little():
    card = Instrument("x", 8000, steep=True)
    samples = record_steps(np.array([0.05003]), np.array([0.0, 1.0]), 0.1, card, np.random.default_rng(0))
    assert samples[:300] == pytest.approx(np.zeros(300), abs=1e-6)
    assert samples[500:] == pytest.approx(np.ones(300), abs=1e-6)
    assert 1.01 < np.max(samples) < 1.09  # Gibbs's overshoot is 8.9 % without a window


# ---- hard lines


@pytest.mark.parametrize("kind", HARD)
@pytest.mark.parametrize("seed", SOME)
def test_hard_lines_are_still_five_units(kind, seed):
    recording = HARD[kind](seed)
    truths = recording.truth.stretches if isinstance(recording.truth, Stretches) else [recording.truth]
    assert recording.truth.five_unit
    for truth in truths:
        assert np.mean(truth.local_units_ms()) == pytest.approx(truth.drive.unit_ms, rel=0.01)
    if kind.startswith("third level"):
        shares = [np.mean(np.abs(recording.volts - v) < 0.6) for v in (0, 2.5, 5)]
        assert min(shares) > 0.005
        assert sum(shares) > 0.99
    if kind == "two senders":
        first, second = (truth.drive.unit_ms for truth in truths)
        assert abs(first / second - 1) > 0.04


def test_a_plain_change_of_instrument_is_enough():
    recording = MACHINES["healthy"](0, replace(Instrument("mine"), rate_hz=2e4, bits=1))
    line, truth = MACHINES["healthy"].line(0)
    changes_s = (np.nonzero(np.diff(recording.samples.astype(int)))[0] + 1) / 2e4
    assert changes_s == pytest.approx(line.edges_s, abs=5.1e-5)
    assert len(truth.codes) == len(recording.truth.codes)
