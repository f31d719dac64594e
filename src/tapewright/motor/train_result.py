"""A train worked out: what the motor must turn at, what it does at a given speed, and whether that is near enough."""

from dataclasses import dataclass
from fractions import Fraction
from math import hypot, sqrt

from tapewright.motor.drive_train import Train
from tapewright.motor.ways import BELT_CREEP, BELT_CREEP_U
from tapewright.number import Limit, Reading, Verdict, judge


@dataclass(frozen=True, slots=True)
class TrainResult:
    """The answer.

    Attributes:
        train: the train asked about.
        baud: the rate it should have.
        wanted_rpm: what the motor must turn at for it, exact; a smooth belt's creep is not in it.
        motor_rpm: the motor's speed that was given, None when none was.
        gives_baud: the rate at that speed, exact, without creep.
        error_percent: how much faster than it should be, creep and doubt taken in; None without a speed.
        verdict: on that, None without a speed.
    """

    train: Train
    baud: Fraction
    wanted_rpm: Fraction
    motor_rpm: Fraction | None = None
    gives_baud: Fraction | None = None
    error_percent: Reading | None = None
    verdict: Verdict | None = None


def result_of(
    train: Train, baud: Fraction, motor_rpm: Fraction | None, doubt_percent: float, limit: Limit
) -> TrainResult:
    """Work a train out; `doubt_percent` is the standard uncertainty of the motor's speed."""
    wanted = train.motor_rpm(baud)
    if motor_rpm is None:
        return TrainResult(train, baud, wanted)
    gives = train.baud(motor_rpm)
    ratio = float(gives / baud) * (1 - BELT_CREEP) ** train.belts
    # without creep the error is exact: 1/3 - 1/3 must be nothing, not a rounding
    error = 100 * (ratio - 1) if train.belts else float(100 * (gives / baud - 1))
    u = ratio * hypot(doubt_percent, 100 * BELT_CREEP_U * sqrt(train.belts))
    reading = Reading(error, u, "percent")
    return TrainResult(train, baud, wanted, motor_rpm, gives, reading, judge(reading, limit))
