r"""Ways to take the speed, each brought to the same measure: how many per cent the machine is fast, with its doubt.

Picture (what is read, and what is made of it):

    strobe, tachometer   turns of some shaft, through the exact train
    stopwatch            n characters in t seconds, sent at full speed: baud = n U / t;  u(t) = 0.10 s by hand
    line                 the unit as `line read` measured it
"""

import math
from dataclasses import dataclass
from fractions import Fraction

from tapewright.motor.drive_train import Train
from tapewright.motor.strobe import Strobe, order_near, rivals_rpm, rpm_of
from tapewright.number import Reading
from tapewright.reference.manual_timing import STOPWATCH_U_S

#: creep of a smooth belt: 0 to 2 per cent behind, taken as even between; common practice, no source
BELT_CREEP, BELT_CREEP_U = 0.01, 0.01 / math.sqrt(3)


def kept_by_belts(train: Train) -> tuple[float, float]:
    """Return the share of its speed that the cam shaft keeps behind smooth belts, and its standard uncertainty."""
    share = (1 - BELT_CREEP) ** train.belts
    return share, share * BELT_CREEP_U * math.sqrt(train.belts)


def rpm_with_creep(train: Train, motor_rpm: float) -> Reading:
    """Return what the motor must really turn at, where the exact fractions ask for this without creep."""
    share, u = kept_by_belts(train)
    return Reading(motor_rpm / share, motor_rpm / share * u / share, "rpm")


def baud_with_creep(train: Train, baud: float) -> Reading:
    """Return the rate that comes out behind smooth belts, where the exact fractions give this without creep."""
    share, u = kept_by_belts(train)
    return Reading(baud * share, baud * u, "Bd")


@dataclass(frozen=True, slots=True)
class Way:
    """One way, and what it says.

    Attributes:
        name: for example "strobe".
        error_percent: how much faster than nominal, with its standard uncertainty.
        rivals_percent: the same for other speeds this way cannot tell from it.
        saw: what was read, in words.
        mind: what could spoil it.
    """

    name: str
    error_percent: Reading
    rivals_percent: tuple[float, ...]
    saw: str
    mind: str


def _error(value: float, u: float, nominal: float, how: str) -> Reading:
    return Reading(100 * (value / nominal - 1), 100 * u / nominal, "percent", how=how)


def by_shaft(name: str, rpm: Reading, nominal_rpm: float, *, belts: int, saw: str, mind: str) -> Way:
    """Take a shaft's speed; `belts` smooth belts lie between it and the cam."""
    value, u = rpm.value or 0.0, rpm.u or 0.0
    slipped = value * (1 - BELT_CREEP) ** belts
    doubt = math.hypot(u, value * BELT_CREEP_U * math.sqrt(belts))
    return Way(name, _error(slipped, doubt, nominal_rpm, name), (), saw, mind)


def by_strobe(strobe: Strobe, train: Train, baud: Fraction, *, on_cam_shaft: bool, name: str = "strobe") -> Way:
    """Take the speed by a strobe on the motor shaft, or on the cam shaft."""
    nominal = float(_nominal_rpm(train, baud, on_cam_shaft))
    order = order_near(strobe, nominal)
    rivals = tuple(100 * (rpm / nominal - 1) for rpm in rivals_rpm(strobe, order))
    per_s = strobe.drift.per_s.value or 0.0
    moves = "stands still" if not per_s else f"drifts {abs(per_s):.3g} spots a second {_way(per_s)}"
    saw = f"{strobe.spots} spots at {float(strobe.looks_per_s):g} looks a second: the pattern {moves}"
    belts = 0 if on_cam_shaft else train.belts
    way = by_shaft(name, rpm_of(strobe, order), nominal, belts=belts, saw=saw, mind=_STROBE_MIND)
    return Way(name, way.error_percent, rivals, saw, _STROBE_MIND)


def by_tachometer(rpm: Reading, train: Train, baud: Fraction, *, on_cam_shaft: bool) -> Way:
    """Take the speed by a tachometer on the motor shaft, or on the cam shaft."""
    belts = 0 if on_cam_shaft else train.belts
    nominal = float(_nominal_rpm(train, baud, on_cam_shaft))
    where = "cam shaft" if on_cam_shaft else "motor shaft"
    mind = "a rubber tip slips when it is pressed lightly, and brakes a small motor when it is pressed hard"
    return by_shaft("tachometer", rpm, nominal, belts=belts, saw=f"{rpm} at the {where}", mind=mind)


def by_stopwatch(characters: int, seconds: float, units: Fraction, baud: Fraction, u_s: float | None = None) -> Way:
    """Take the speed by timing characters that follow each other at full speed, `units` long each."""
    u_s = STOPWATCH_U_S.value if u_s is None else u_s
    measured = characters * float(units) / seconds
    saw = f"{characters} characters in {seconds:g} s"
    mind = (
        f"one character miscounted is {100 / characters:.2g} %; the stream must not pause, "
        f"and a character must be {float(units):g} units long"
    )
    return Way("stopwatch", _error(measured, measured * u_s / seconds, float(baud), "stopwatch"), (), saw, mind)


def by_line(unit_ms: Reading, baud: Fraction) -> Way:
    """Take the speed from a unit length that was measured on the line."""
    unit, u = unit_ms.value or math.nan, unit_ms.u or 0.0
    error = _error(1000 / unit, 1000 / unit * u / unit, float(baud), "line")
    return Way("line", error, (), f"unit {unit_ms}", "only as good as the recorder's clock")


def with_rival(way: Way, error_percent: float) -> Way:
    """Return the same way read as one of its rivals."""
    was = way.error_percent.value or 0.0
    error = Reading(error_percent, way.error_percent.u, "percent", how=way.error_percent.how)
    others = tuple(r for r in (*way.rivals_percent, was) if r != error_percent)
    return Way(way.name, error, others, way.saw, way.mind)


def _nominal_rpm(train: Train, baud: Fraction, on_cam_shaft: bool) -> Fraction:
    rpm = train.motor_rpm(baud)
    return train.shaft_rpm(rpm) if on_cam_shaft else rpm


def _way(per_s: float) -> str:
    return "forward" if per_s > 0 else "backward"


_STROBE_MIND = "the pattern also stands still at other speeds, and a lamp on the mains is only as good as the mains"
