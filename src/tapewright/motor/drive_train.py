r"""The way from the motor to the cam shaft, in exact fractions.

Picture (driver:driven, in teeth, or in diameters of pulleys):

    motor --[14]          [ 5]-- belt
              |             |
            [60]--shaft--  ...  --[..]-- cam shaft: so many units a turn

    turns of the cam shaft for one turn of the motor = product of driver / driven
    baud = motor rpm / 60 x that ratio x units a turn;      unit = 1 / baud

Derived. A sending cam makes one character a turn (7, 7.42, 7.5 ... units). A receiving shaft usually waits on its
latch and turns faster than the characters come: a field note has 420 rpm at 45.45 Bd, 6.5 units a turn, beside a
sending shaft of 367 rpm, 7.42 units.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import prod

from tapewright.reference.speeds import usual_stop_units

SECONDS_IN_A_MINUTE = 60
#: rates that are written with fewer digits than they have: 45.45 Bd is a unit of 22 ms
EXACT_BAUD = {"45.45": Fraction(500, 11), "45.5": Fraction(500, 11)}
START_AND_ELEMENTS = 6


@dataclass(frozen=True, slots=True)
class Stage:
    """Two wheels that drive each other.

    Attributes:
        driver: teeth, or diameter, of the one nearer to the motor; above 0.
        driven: the same of the other; above 0.
        belt: True for a smooth belt, which creeps; False for teeth, which cannot.
    """

    driver: Fraction
    driven: Fraction
    belt: bool = False

    @property
    def ratio(self) -> Fraction:
        """Turns of the driven wheel for one of the driver."""
        return self.driver / self.driven

    def __str__(self) -> str:
        """Write it as it is typed: 14:60."""
        return f"{self.driver}:{self.driven}"


@dataclass(frozen=True, slots=True)
class Train:
    """All stages from the motor, or from whatever turns in its place, to the cam shaft.

    Attributes:
        stages: in any order; none when the cam shaft is turned directly.
        units_per_turn: units the line gets while the cam shaft turns once.
    """

    stages: tuple[Stage, ...]
    units_per_turn: Fraction

    @property
    def ratio(self) -> Fraction:
        """Turns of the cam shaft for one of the motor."""
        return prod((s.ratio for s in self.stages), start=Fraction(1))

    @property
    def belts(self) -> int:
        """How many smooth belts there are."""
        return sum(s.belt for s in self.stages)

    def baud(self, motor_rpm: Fraction) -> Fraction:
        """Return the modulation rate at a motor speed."""
        return motor_rpm / SECONDS_IN_A_MINUTE * self.ratio * self.units_per_turn

    def motor_rpm(self, baud: Fraction) -> Fraction:
        """Return the motor speed that a modulation rate needs."""
        return baud * SECONDS_IN_A_MINUTE / self.units_per_turn / self.ratio

    def shaft_rpm(self, motor_rpm: Fraction) -> Fraction:
        """Return the speed of the cam shaft."""
        return motor_rpm * self.ratio


def synchronous_rpm(mains_hz: Fraction, poles: int) -> Fraction:
    """Return the speed of a synchronous motor, 120 f / p (derived: a turn takes p/2 periods).

    Raises:
        ValueError: when the number of poles is not even and above 0.
    """
    if poles < 2 or poles % 2:
        raise ValueError(f"a motor has an even number of poles, not {poles}")
    return 120 * mains_hz / poles


def usual_units(baud: Fraction) -> Fraction:
    """Return usual length of a character, exactly: 7.42 or 7.5 units (`speeds.usual_stop_units` has the sources)."""
    return START_AND_ELEMENTS + Fraction(str(usual_stop_units(float(baud))))
