"""Strobe, stopwatch and tachometer: published figures, aliases, doubts that are true."""

from fractions import Fraction

import numpy as np
import pytest
import uncertainties

from tapewright.motor.drive_train import Stage, Train
from tapewright.motor.strobe import Drift, Strobe, order_near, rpm_of, still_rpm
from tapewright.motor.ways import baud_with_creep, by_line, by_stopwatch, by_strobe, by_tachometer, rpm_with_creep
from tapewright.number import Reading

DIRECT = Train((), Fraction("7.5"))


@pytest.mark.parametrize(
    ("flashes_a_minute", "seen_rpm"),
    # NEETS module 16 (NAVEDTRA 14188) p. 2-10: a shaft at 1800 rpm seems to turn forward 1 rpm under 1799 flashes
    # a minute, stands still under 1800, and seems to turn backward 1 rpm under 1801
    [(1799, 1), (1800, 0), (1801, -1)],
)
def test_apparent_turning(flashes_a_minute, seen_rpm):
    seen = Drift(seen_rpm, 60.0)
    strobe = Strobe(Fraction(flashes_a_minute, 60), 0.0, 1, seen)
    assert rpm_of(strobe, 1).value == pytest.approx(1800.0, abs=1e-9)


@pytest.mark.parametrize(("fork", "spots", "rpm"), [("87.6", 5, 2102), ("125", 10, 1500), ("125", 5, 3000)])
def test_forks(fork, spots, rpm):
    """120 f / N, two openings a cycle (openings from memory; figures derived)."""
    assert float(still_rpm(2 * Fraction(fork), spots)) == pytest.approx(rpm, abs=0.5)


def test_drift_in_per_cent():
    """Derived in the reference: D spots a second are 60 D / N rpm, 100 D / (2 f) per cent."""
    strobe = Strobe(Fraction(250), 0.0, 10, Drift(30, 60.0))
    assert rpm_of(strobe, 1).value == pytest.approx(1500 + 60 * 0.5 / 10)
    assert 100 * (rpm_of(strobe, 1).value / 1500 - 1) == pytest.approx(100 * 0.5 / 250)


def test_the_pattern_nearest_to_the_wanted_speed_is_taken():
    strobe = Strobe(Fraction(100), 0.0, 2, Drift(0, 10))
    assert (order_near(strobe, 3000), order_near(strobe, 6100), order_near(strobe, 10)) == (1, 2, 1)


def test_stopwatch_with_its_doubt():
    """200 characters of 7.5 units in 30.0 s: 50 Bd; doubt by a general library from u(t) = 0.10 s (abstract cited)."""
    way = by_stopwatch(200, 30.0, Fraction("7.5"), Fraction(50))
    witness = 200 * 7.5 / uncertainties.ufloat(30.0, 0.10)
    assert way.error_percent.value == pytest.approx(0.0)
    assert way.error_percent.u == pytest.approx(100 * witness.std_dev / 50)


def test_tachometer_through_gears_and_at_the_cam():
    train = Train((Stage(Fraction(1), Fraction(4)),), Fraction("7.5"))
    motor = by_tachometer(Reading(1616.0, 4.0, "rpm"), train, Fraction(50), on_cam_shaft=False)
    cam = by_tachometer(Reading(404.0, 1.0, "rpm"), train, Fraction(50), on_cam_shaft=True)
    for way in (motor, cam):
        assert (way.error_percent.value, way.error_percent.u) == (pytest.approx(1.0), pytest.approx(0.25))


def test_what_is_wanted_and_what_is_given_take_the_creep_alike():
    """By hand: 1000 rpm through two belts that each lose 1 % wants 1000 / 0.99^2 = 1020.30; 50 Bd become 49.005."""
    train = Train((Stage(Fraction(1), Fraction(4), belt=True),) * 2, Fraction("7.5"))
    rpm, baud = rpm_with_creep(train, 1000.0), baud_with_creep(train, 50.0)
    assert rpm.value == pytest.approx(1020.304, abs=1e-3)
    assert baud.value == pytest.approx(49.005)
    # each is known to 0.01 / sqrt 3 of itself: even between 0 and 2 % (JCGM 100:2008, 4.3.7)
    assert rpm.u / rpm.value == pytest.approx(0.01 * (2 / 3) ** 0.5)
    assert baud.u / baud.value == pytest.approx(0.01 * (2 / 3) ** 0.5)


def test_a_smooth_belt_adds_its_creep():
    belt = Train((Stage(Fraction(1), Fraction(4), belt=True),), Fraction("7.5"))
    way = by_tachometer(Reading(1600.0, 0.0, "rpm"), belt, Fraction(50), on_cam_shaft=False)
    assert way.error_percent.value == pytest.approx(-1.0)
    assert way.error_percent.u == pytest.approx(1 / np.sqrt(3))


def test_a_unit_measured_on_the_line():
    way = by_line(Reading(19.8, 0.0198, "ms"), Fraction(50))
    assert way.error_percent.value == pytest.approx(100 * (20 / 19.8 - 1))
    assert way.error_percent.u == pytest.approx(0.1 * 20 / 19.8)


def test_doubts_cover_what_eye_and_watch_do():
    """Simulated observers: true speeds lie within 2u in about 95 of 100."""
    rng, inside, n = np.random.default_rng(8), 0, 1500
    for _ in range(n):
        true_rps, seconds = 25 * (1 + rng.normal(0, 0.004)), 10.0
        drift = 10 * true_rps - 250 * (1 + 0.0005 * rng.standard_normal())
        eye = rng.uniform(-0.25, 0.25) - rng.uniform(-0.25, 0.25)
        seen = drift * (seconds + 0.10 * rng.standard_normal()) + eye
        strobe = Strobe(Fraction(250), 0.0005, 10, Drift(seen, seconds))
        way = by_strobe(strobe, _AT_1500, Fraction(50), on_cam_shaft=False)
        truth = 100 * (true_rps / 25 - 1)
        inside += abs(way.error_percent.value - truth) <= way.error_percent.expanded
    assert 0.93 < inside / n < 0.985


_AT_1500 = Train((Stage(Fraction(4), Fraction(15)),), Fraction("7.5"))
