"""Whether a drive is steady enough, against the published growth of a speed error and numerical integration."""

import numpy as np
import pytest

from tapewright.motor import steadiness as s
from tapewright.number import Reading, State

LIMIT = s.allowed(10.0, s.USUAL_SOURCE)
UNIT_S = 0.022


def test_a_slow_swing_displaces_like_a_speed_error():
    """Derived in the reference: 0.75 % of speed displaces the sixth boundary by 4.5 % of a unit."""
    assert 100 * s.displacement_units(0.0075, None, UNIT_S) == pytest.approx(4.5)
    assert s.displacement_units(0.0075, 1e-4, UNIT_S) == pytest.approx(0.045, rel=1e-4)


@pytest.mark.parametrize("hz", [0.3, 1.0, 3.0, 5.0, 12.0, 45.0])
def test_displacement_equals_the_largest_found_by_integration(hz):
    t = np.linspace(0, 6 * UNIT_S, 4001)
    worst = 0.0
    for phase in np.linspace(0, 2 * np.pi, 361):
        v = np.sin(2 * np.pi * hz * t + phase)
        moved = np.concatenate([[0], np.cumsum((v[1:] + v[:-1]) / 2 * np.diff(t))])
        worst = max(worst, float(np.abs(moved).max()))
    assert s.displacement_units(0.01, hz, UNIT_S) == pytest.approx(0.01 * worst / UNIT_S, rel=1e-3)


def test_measured_within_the_character_it_can_be_good_enough():
    assert s.from_swing(Reading(0.3, 0.02, "percent"), None, UNIT_S, LIMIT).verdict.state is State.WITHIN
    assert s.from_swing(Reading(0.6, 0.02, "percent"), None, UNIT_S, LIMIT).verdict.state is State.OUTSIDE
    assert s.from_swing(Reading(0.4, 0.02, "percent"), None, UNIT_S, LIMIT).verdict.state is State.NOT_SHOWN
    assert s.from_swing(Reading(0.3, None, "percent"), None, UNIT_S, LIMIT).verdict.state is State.NOT_SHOWN


def test_a_tachometer_never_shows_a_drive_good_enough():
    steady = s.from_readings([367.5, 367.6, 367.5, 367.6, 367.5, 367.6], UNIT_S, LIMIT)
    assert steady.verdict.state is State.NOT_SHOWN
    assert "line read" in steady.verdict.why
    assert s.from_readings([300.0, 420.0], UNIT_S, LIMIT).verdict.state is State.NOT_SHOWN


def test_readings_condemn_only_what_is_unsteady():
    """Over many drives that just meet the limit, readings condemn few; of those at four times it, most."""
    rng = np.random.default_rng(5)
    just = LIMIT.high / 6 / np.sqrt(2) / 100

    def condemned(share):
        runs = [367 * (1 + share * just * rng.standard_normal(12)) for _ in range(400)]
        return np.mean([s.from_readings(r, UNIT_S, LIMIT).verdict.state is State.OUTSIDE for r in runs])

    assert condemned(1.0) < 0.05
    assert condemned(4.0) > 0.9
