"""Stop, ripple, drift, bounce, splits; the receiver's range."""

import numpy as np
import pytest

from line.machines import capture, machine, random_codes
from tapewright.alphabets import ITA2
from tapewright.line.document import LineSettings
from tapewright.line.measure import measure_line
from tapewright.practice.contacts import Contact

CODES = random_codes(np.random.default_rng(11), 150)
SETTINGS = LineSettings(ITA2)


@pytest.mark.parametrize("stop", [1.0, 1.42, 1.5, 2.0])
def test_stop_length(stop):
    result = measure_line(capture(machine(0.02, stop_units=stop), CODES), SETTINGS)
    assert result.speed.stop_units.value == pytest.approx(stop, abs=0.002)


@pytest.mark.parametrize(("hunt", "hunt_hz"), [(0.01, 0.8), (0.004, 2.3), (0.02, 5.0), (0.01, 24.08), (0.02, 59.7)])
def test_ripple_with_its_frequency(hunt, hunt_hz):
    made = machine(0.022, motor={"hunt": hunt, "hunt_hz": hunt_hz}, scatter_s=0.02e-3, closing={3: 1e-3})
    result = measure_line(capture(made, CODES), SETTINGS)
    assert result.speed.ripple_hz.value == pytest.approx(hunt_hz, rel=0.01)
    ripple = result.speed.ripple_percent
    assert ripple.value == pytest.approx(100 * hunt, abs=3 * ripple.u)
    assert ripple.u < 4 * hunt
    # what the drive does to all must not blur what one contact does
    assert result.contacts[2].closing_late_ms.value == pytest.approx(1.0, abs=0.05)


def test_of_swings_that_look_alike_the_smallest_is_named_and_the_others_noted():
    """With a stop of one unit all instants lie on a grid of units, where f and 1 / T - f move them alike (derived)."""
    made = machine(0.02, stop_units=1.0, motor={"hunt": 0.02, "hunt_hz": 12.0}, scatter_s=0.02e-3)
    result = measure_line(capture(made, CODES), SETTINGS)
    assert result.speed.ripple_hz.value == pytest.approx(12.0, abs=0.05)
    assert result.speed.ripple_percent.value == pytest.approx(2.0, abs=0.1)
    assert any("38.0 Hz" in note for note in result.notes)


def test_a_ripple_is_named_by_how_fast_it_swings():
    """A governor hunts slowly; what swings with a motor's turn is no hunting, and mains hum swings as fast."""
    said = []
    for hz in (1.5, 24.0, 50.0):
        made = machine(0.022, motor={"hunt": 0.04, "hunt_hz": hz}, scatter_s=0.02e-3)
        result = measure_line(capture(made, CODES), SETTINGS)
        said.append(next(f.do for f in result.findings if f.part == "governor or drive"))
    assert "hunting" in said[0]
    assert "1440 times a minute" in said[1]
    assert "hunting" not in said[1]
    assert "mains" in said[2]


def test_no_ripple_is_made_up_of_characters_that_beat_with_the_sample_clock():
    shown = []
    for unit_s, stop in ((1 / 75, 1.0), (0.01, 1.42), (0.02, 1.42), (1 / 75, 1.5)):
        made = machine(unit_s, scatter_s=0.03e-3, stop_units=stop, closing={3: 1e-3})
        result = measure_line(capture(made, CODES, step_s=50e-6), SETTINGS)
        shown.append(result.speed.ripple_percent.value)
    assert shown == [None] * 4


def test_no_ripple_is_made_up():
    shown = [
        measure_line(capture(machine(0.022, scatter_s=0.1e-3), CODES, seed=seed), SETTINGS).speed.ripple_percent.value
        for seed in range(10)
    ]
    assert sum(value is not None for value in shown) <= 1


def test_drift_from_cold_to_warm():
    made = machine(0.022, motor={"cold": 0.02, "warms_in_s": 20.0}, scatter_s=0.02e-3)
    result = measure_line(capture(made, CODES), SETTINGS)
    # 25 s of a 20 s warm-up from 2 per cent slow: the straight line through it rises by about 1.3 per cent
    assert result.speed.drift_percent.value == pytest.approx(1.3, abs=0.3)


def test_bounce_is_measured_and_moves_nothing():
    made = machine(0.022, contact=Contact(bounce_s=1.2e-3))
    result = measure_line(capture(made, CODES), SETTINGS)
    assert result.contacts[2].bounce_ms.median == pytest.approx(1.2, abs=0.25)
    assert abs(result.contacts[2].closing_late_ms.value) < 0.05


def test_dropouts_are_counted_and_placed():
    made = machine(0.022, contact=Contact(dropouts_per_s=4, dropout_s=0.5e-3))
    result = measure_line(capture(made, CODES), SETTINGS)
    assert sum(c.dropouts for c in result.contacts) > 10
    assert list(result.codes) == CODES


@pytest.mark.parametrize(("window", "margin"), [(0.0, 50.0), (0.2, 40.0), (0.3, 35.0)])
def test_margin_of_an_undistorted_signal(window, margin):
    """Derived: (1 - w)/2; point sampling 50 %, w = 0.2 gives 40 %, w = 0.3 gives 35 % (reference notes, section 3)."""
    settings = LineSettings(ITA2, nominal_baud=50, window=window)
    result = measure_line(capture(machine(0.02), CODES), settings)
    assert result.receiver.margin_percent == pytest.approx(margin, abs=0.1)


def test_bias_narrows_one_end_of_the_range():
    """Range theory, derived: spacing bias b moves the early limit by b and leaves the late one."""
    plain = measure_line(capture(machine(0.02), CODES), LineSettings(ITA2, nominal_baud=50)).receiver
    made = machine(0.02, bias_s=-0.1 * 0.02)
    biased = measure_line(capture(made, CODES), LineSettings(ITA2, nominal_baud=50)).receiver
    assert biased.orientation_low - plain.orientation_low == pytest.approx(10, abs=0.2)
    assert biased.orientation_high == pytest.approx(plain.orientation_high, abs=0.2)


def test_a_slow_sender_moves_each_element_further_than_the_one_before():
    """Derived: the boundary before element k comes k p late, so the early end closes in by p an element."""
    result = measure_line(capture(machine(0.02 * 1.02), CODES), LineSettings(ITA2, nominal_baud=50))
    lows = [r.orientation_low for r in result.receiver.per_element]
    assert np.diff(lows) == pytest.approx([2.0] * 4, abs=0.1)
    assert "motor speed" in [f.part for f in result.findings]
