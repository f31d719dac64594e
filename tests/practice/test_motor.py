"""The motor's clock against numerical integration of its speed (scipy)."""

import numpy as np
import pytest
from scipy.integrate import quad

from tapewright.practice.motor import Motor


@pytest.mark.parametrize("motor", [
    Motor(0.022, hunt=0.02, hunt_hz=1.3, hunt_phase=0.4),
    Motor(0.022, cold=0.03, warms_in_s=20),
    Motor(0.022, hunt=0.01, hunt_hz=0.2, cold=0.05, warms_in_s=5),
])  # fmt: skip
def test_true_time_is_where_the_integral_of_the_speed_reaches_motor_time(motor):
    def speed(t):
        wave = motor.hunt * np.sin(2 * np.pi * motor.hunt_hz * t + motor.hunt_phase)
        return 1 + wave - motor.cold * np.exp(-t / motor.warms_in_s)

    wanted = np.array([0.0, 0.1, 1.0, 7.7, 60.0])
    for motor_s, true_s in zip(wanted, motor.true_time_s(wanted), strict=True):
        assert quad(speed, 0, true_s, limit=500)[0] == pytest.approx(motor_s, abs=1e-9)


def test_a_cold_motor_is_slow():
    cold = Motor(0.022, cold=0.01, warms_in_s=100)
    first = np.diff(cold.true_time_s(np.array([0.0, 0.022])))[0]
    assert first == pytest.approx(0.022 / 0.99, rel=1e-4)


def test_a_steady_motor_changes_nothing():
    wanted = np.array([0.0, 1.0])
    assert (Motor(0.02).true_time_s(wanted) == wanted).all()


def test_a_cam_out_of_true_repeats_every_turn():
    motor = Motor(0.022, out_of_true_s=1e-3, harmonic=2, angle=0.3)
    assert motor.displaced_s(1.0, 7.5) == pytest.approx(motor.displaced_s(1.0 + 7.5, 7.5))
    assert motor.displaced_s(1.0, 7.5) == pytest.approx(1e-3 * np.sin(4 * np.pi / 7.5 + 0.3))
