"""Drawn motors brought to speed: series, magnet, governed, worn; these draws were not used to build the procedure."""

from dataclasses import replace

import numpy as np
import pytest

from tapewright.motor.bring_in import Wanted, bring_speed_in, read_when_steady
from tapewright.number import Reading
from tapewright.practice.motor import MotorOnBench, SuppliedMotor

WITHIN = 0.2


class Bench:
    """A motor on a supply that keeps what it was set to."""

    def __init__(self, motor, ceiling_v, rng):
        self.bench, self.ceiling_v, self.history, self.rng = MotorOnBench(motor, rng), ceiling_v, [], rng

    def set_volts(self, volts):
        self.history.append(volts)
        self.bench.volts = volts
        self.bench.run(8.0)

    def speed(self, wanted):
        def read():
            seen = np.array([self.bench.read_rpm() for _ in range(5)])
            u = max(0.03, 100 * seen.std(ddof=1) / wanted / 5**0.5)
            return Reading(float(100 * (seen.mean() / wanted - 1)), float(u), "percent")

        return read_when_steady(read, self.bench.run, WITHIN)


def a_motor(kind, rng, wanted):
    motor = SuppliedMotor(
        kind="magnet" if kind == "magnet" else "series",
        r_ohm=rng.uniform(4, 25),
        k=rng.uniform(0.15, 0.4) if kind == "magnet" else rng.uniform(0.2, 0.6),
        t0=rng.uniform(0.02, 0.12),
        t1=rng.uniform(0, 4e-4),
        t2=rng.uniform(0, 1e-6),
        brush_v=rng.uniform(0.5, 3),
        unsteady=rng.uniform(1e-4, 4e-4),
    )
    if kind == "governed":
        right = wanted * (1 + rng.uniform(-0.0008, 0.0008))
        return replace(motor, governor_rpm=right, governor_ohm=rng.uniform(30, 100))
    if kind == "worn":
        return replace(motor, t0=1.5 * motor.t0, brush_v=rng.uniform(2, 4), unsteady=rng.uniform(3e-4, 6e-4),
                       cold_share=rng.uniform(0.05, 0.15))  # fmt: skip
    return motor


def right_volts(motor, wanted):
    """Find by trying where the motor comes to its speed."""
    volts = np.linspace(3, 300, 400)
    speeds = [motor.steady_rpm(float(v))[0] for v in volts]
    return next((float(v) for v, s in zip(volts, speeds, strict=True) if s >= 0.9995 * wanted), None)


@pytest.mark.parametrize("kind", ["series", "magnet", "governed", "worn"])
def test_in_at_most_four_moves(kind):
    rng, done = np.random.default_rng(90210), 0
    while done < 12:
        wanted = rng.uniform(1200, 2400)
        motor = a_motor(kind, rng, wanted)
        right = right_volts(motor, wanted)
        if right is None or right < 6:
            continue
        bench = Bench(motor, right * 1.6, rng)
        first = right * rng.uniform(0.6, 0.95)
        went = bring_speed_in(bench, Wanted(WITHIN, first), bench.speed(wanted), lambda v, why: True)
        assert (went.state, went.moves <= 4) == ("done", True), went
        assert abs(100 * (bench.bench.rpm / wanted - 1)) <= WITHIN, "the true speed, not the one read"
        assert max(bench.history) <= bench.ceiling_v
        done += 1


def test_a_ceiling_that_is_too_low_is_met_and_never_passed():
    bench = Bench(SuppliedMotor(), 40.0, np.random.default_rng(1))
    went = bring_speed_in(bench, Wanted(WITHIN, 30.0), bench.speed(2600.0), lambda v, why: True)
    assert went.state in ("cannot", "not enough moves")
    assert max(bench.history) <= 40.0


def test_a_governor_that_is_set_wrong_cannot_be_helped_by_volts():
    bench = Bench(SuppliedMotor(governor_rpm=1900.0, governor_ohm=300.0), 75.0, np.random.default_rng(2))
    went = bring_speed_in(bench, Wanted(WITHIN, 66.0), bench.speed(2000.0), lambda v, why: True)
    assert went.state in ("cannot", "not enough moves")


def test_it_stops_when_nobody_confirms():
    bench = Bench(SuppliedMotor(), 60.0, np.random.default_rng(3))
    went = bring_speed_in(bench, Wanted(WITHIN, 30.0), bench.speed(1800.0), lambda v, why: len(bench.history) < 1)
    assert (went.state, len(bench.history)) == ("stopped", 1)


def test_the_practice_motors_obey_the_textbook():
    """Permanent magnet, no friction: w = V / K. Series, torque T = k I^2: w = V / sqrt(k T) - R / k (textbook)."""
    free = SuppliedMotor(kind="magnet", r_ohm=5, k=0.2, t0=0, t1=0, t2=0, brush_v=0)
    assert free.steady_rpm(24.0)[0] * 2 * np.pi / 60 == pytest.approx(120.0, rel=1e-3)
    series = SuppliedMotor(r_ohm=8, k=0.3, t0=0.05, t1=0, t2=0, brush_v=0)
    expected = 40 / np.sqrt(0.3 * 0.05) - 8 / 0.3
    assert series.steady_rpm(40.0)[0] * 2 * np.pi / 60 == pytest.approx(expected, rel=1e-3)


def test_a_first_voltage_at_which_it_hardly_turns():
    bench = Bench(SuppliedMotor(), 90.0, np.random.default_rng(4))
    went = bring_speed_in(bench, Wanted(WITHIN, 12.0, 12), bench.speed(1800.0), lambda v, why: True)
    assert went.state == "done"
    assert went.steps[0].hardly_turns
    stuck = Bench(SuppliedMotor(t0=50.0), 30.0, np.random.default_rng(4))
    went = bring_speed_in(stuck, Wanted(WITHIN, 12.0, 12), stuck.speed(1800.0), lambda v, why: True)
    assert (went.state, max(stuck.history)) == ("cannot", 30.0)
