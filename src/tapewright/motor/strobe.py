r"""Stroboscopic speed: spots on a wheel, looks a second, and which way the pattern drifts.

Picture (N dark spots; each look finds the next spot in the place of the last):

      .-o-.        a slotted fork of f Hz opens twice a cycle (from memory): L = 2 f looks a second
     o     o       a lamp on the mains flashes twice a period: L = 2 x mains
      '-o-'        a flash lamp or a film camera: L as set

    spots that pass a second = N x rev/s;     the pattern stands still where that is m x L, m = 1, 2, 3 ...
    drifting forward by D spots a second:  rev/s = (m L + D) / N;  backward: D negative, the wheel is slow

Checked: 1800 rpm under 1799 looks a minute seems to go forward 1 rpm, under 1801 backward (NEETS module 16 p. 2-10);
fork 87.6 Hz, 5 spots: 2102 rpm (derived from 120 f / N). The pattern also stands still at other speeds: at m + 1, and,
with more and paler spots, at m - 1/2 and the like. Only another way of taking the speed tells them apart.
"""

import math
from dataclasses import dataclass
from fractions import Fraction

from tapewright.number import Reading
from tapewright.reference.manual_timing import STOPWATCH_U_S

#: a fork that was never compared with a clock; our assumption, said beside the result
FORK_U_RELATIVE = 0.0005
#: a spot is judged to have reached the mark within about a quarter of the space between two spots, either end
SPOT_U = 0.25 * math.sqrt(2) / math.sqrt(3)
RIVAL_ORDERS = (Fraction(1, 2), Fraction(2, 3), Fraction(3, 2), Fraction(2))


@dataclass(frozen=True, slots=True)
class Drift:
    """How the pattern moves: `spots` pass a mark in `seconds`, forward (with the wheel) positive."""

    spots: float
    seconds: float

    @property
    def per_s(self) -> Reading:
        """Spots a second, with the doubt of eye and watch."""
        rate = self.spots / self.seconds
        u = math.hypot(SPOT_U / self.seconds, rate * STOPWATCH_U_S.value / self.seconds)
        return Reading(rate, u, "spot/s")


@dataclass(frozen=True, slots=True)
class Strobe:
    """What was seen.

    Attributes:
        looks_per_s: exact as set or engraved.
        looks_u_relative: relative standard uncertainty of it.
        spots: dark spots round the wheel.
        drift: how the pattern moves.
    """

    looks_per_s: Fraction
    looks_u_relative: float
    spots: int
    drift: Drift


def still_rpm(looks_per_s: Fraction, spots: int, order: Fraction | int = 1) -> Fraction:
    """Return the speed at which the pattern stands still, 60 L m / N."""
    return 60 * looks_per_s * order / spots


def order_near(strobe: Strobe, expected_rpm: float) -> int:
    """Return m, the order of the still pattern nearest to the speed expected; at least 1."""
    return max(1, round(expected_rpm / float(still_rpm(strobe.looks_per_s, strobe.spots))))


def rpm_of(strobe: Strobe, order: Fraction | int) -> Reading:
    """Return the speed in turns a minute when the pattern is the one of that order."""
    drift = strobe.drift.per_s
    still = float(still_rpm(strobe.looks_per_s, strobe.spots, order))
    drifting = drift.scaled(60 / strobe.spots, "rpm")
    u = math.hypot(still * strobe.looks_u_relative, drifting.u or 0.0)
    return Reading(still + (drifting.value or 0.0), u, "rpm")


def rivals_rpm(strobe: Strobe, order: int) -> tuple[float, ...]:
    """Return other speeds at which a pattern would look much the same."""
    others = {order * share for share in RIVAL_ORDERS} | {Fraction(order - 1), Fraction(order + 1)}
    return tuple(rpm_of(strobe, o).value or 0.0 for o in sorted(others) if o > 0 and o != order)
