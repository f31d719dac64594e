r"""Gauges, their units, and the doubt each brings when nothing better is stated.

Units are exact by definition: 1 in = 25.4 mm and 1 oz = 28.349523125 g (international yard and pound, 1959); standard
gravity 9.80665 m/s2 (3rd CGPM 1901). A spring balance in g or oz reads the weight of that mass.

Picture (a reading that can lie anywhere in +/- a, all places alike):

         -a |________________| +a       u = a / sqrt 3

Formulas from JCGM 100:2008 (GUM): combined standard uncertainty 5.1.2 (uncorrelated), rectangular distribution 4.3.7,
triangular 4.3.9, mean of n repeats 4.2.3. Clause numbers from memory. The doubt of each gauge is common practice, no
source; a sheet or a reading that states its own replaces it.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from tapewright.number import Verdict

MM_PER_INCH = 25.4
GRAM_PER_OUNCE = 28.349523125
STANDARD_GRAVITY_M_S2 = 9.80665


class Unit(NamedTuple):
    """A unit: the family it belongs to, and how many of the family's base unit it is."""

    family: str
    factor: float


#: name -> unit. Base units: mm, N, deg, turn, s, percent, V, A, ohm, Bd, rpm.
UNITS: dict[str, Unit] = {
    "mm": Unit("length", 1.0),
    "um": Unit("length", 1e-3),
    "in": Unit("length", MM_PER_INCH),
    "thou": Unit("length", MM_PER_INCH / 1000),
    "N": Unit("force", 1.0),
    "mN": Unit("force", 1e-3),
    "g": Unit("force", STANDARD_GRAVITY_M_S2 / 1000),
    "oz": Unit("force", GRAM_PER_OUNCE * STANDARD_GRAVITY_M_S2 / 1000),
    "deg": Unit("angle", 1.0),
    "turn": Unit("turn", 1.0),
    "s": Unit("time", 1.0),
    "ms": Unit("time", 1e-3),
    "%": Unit("ratio", 1.0),
    "percent": Unit("ratio", 1.0),
    "V": Unit("voltage", 1.0),
    "A": Unit("current", 1.0),
    "mA": Unit("current", 1e-3),
    "ohm": Unit("resistance", 1.0),
    "Bd": Unit("modulation rate", 1.0),
    "rpm": Unit("speed", 1.0),
    "count": Unit("count", 1.0),
    "yes": Unit("by eye", 1.0),
}


def factor_between(unit: str, wanted: str) -> float:
    """Return the factor that turns a number in `unit` into one in `wanted`.

    Raises:
        ValueError: when a unit is not in the table or the two are not of one family.
    """
    for name in (unit, wanted):
        if name not in UNITS:
            raise ValueError(f"{name!r} is not one of the units {', '.join(UNITS)}")
    have, want = UNITS[unit], UNITS[wanted]
    if have.family != want.family:
        raise ValueError(f"{unit} measures {have.family}, {wanted} measures {want.family}")
    return 1.0 if unit == wanted else have.factor / want.factor


def same_family(one: str, other: str) -> bool:
    """Return whether two units of the table measure the same."""
    return one in UNITS and other in UNITS and UNITS[one].family == UNITS[other].family


def is_length(unit: str) -> bool:
    """Return whether a unit measures a length: only there can leaves be stacked."""
    return unit in UNITS and UNITS[unit].family == "length"


def combined(contributions: Iterable[float]) -> float:
    """Combine uncorrelated standard uncertainties in the same unit: the root of the sum of squares."""
    return math.hypot(*contributions)


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a value equally likely anywhere within +/- half_width: a / sqrt 3."""
    return half_width / math.sqrt(3)


def triangular(half_width: float) -> float:
    """Standard uncertainty of a value within +/- half_width, likeliest in the middle: a / sqrt 6."""
    return half_width / math.sqrt(6)


def resolution(step: float) -> float:
    """Standard uncertainty of a reading rounded to whole steps: rectangular with half a step."""
    return rectangular(step / 2)


def mean_of_repeats(values: Sequence[float], u_instrument: float) -> tuple[float, float]:
    """Mean of repeats in the same conditions and its standard uncertainty.

    The scatter of the repeats shrinks with their number (s / sqrt n, type A); the doubt of the instrument
    is common to them all and does not.

    Raises:
        ValueError: when there are no values.
    """
    if not values:
        raise ValueError("no values to take the mean of")
    n = len(values)
    mean = math.fsum(values) / n
    if n == 1:
        return mean, u_instrument
    scatter = math.sqrt(math.fsum((v - mean) ** 2 for v in values) / (n - 1))
    return mean, combined([scatter / math.sqrt(n), u_instrument])


#: A reading this many times the largest end of its limit is more likely mistyped than true (common practice, no
#: source: a thou taken for a millimetre is 39 times as much, a millimetre for an inch 25).
OUT_OF_PROPORTION = 20.0


def out_of_proportion(verdict: Verdict) -> float | None:
    """Return how many times the largest end of its limit a reading is; None where it is in proportion."""
    ends = [abs(end) for end in (verdict.limit.low, verdict.limit.high) if end]
    if verdict.value is None or not ends:
        return None
    times = abs(verdict.value) / max(ends)
    return times if times >= OUT_OF_PROPORTION else None


@dataclass(frozen=True, slots=True)
class GaugeKind:
    """What is known of a kind of gauge.

    Attributes:
        name: what a mechanic calls it.
        unit: unit of `step` and `limit_of_error`; the share has none.
        step: smallest division.
        limit_of_error: half-width of the maker's tolerance, taken as rectangular.
        share: half-width of an error proportional to the reading (friction), taken as rectangular.
        feel: standard uncertainty of the hand, in `unit`.
    """

    name: str
    unit: str
    step: float
    limit_of_error: float = 0.0
    share: float = 0.0
    feel: float = 0.0

    def u(self, value: float, unit: str) -> float:
        """Standard uncertainty, in `unit`, of one reading of `value` in `unit`."""
        parts = (resolution(self.step), rectangular(self.limit_of_error), self.feel)
        return combined([combined(parts) * factor_between(self.unit, unit), rectangular(self.share * abs(value))])


#: what a sheet may name. Common practice, no source.
GAUGES: dict[str, GaugeKind] = {
    "leaf": GaugeKind("leaf gauge", "mm", 0.0, limit_of_error=0.005, feel=0.005),
    "wire": GaugeKind("wire gauge", "mm", 0.0, limit_of_error=0.005, feel=0.005),
    "caliper": GaugeKind("vernier caliper", "mm", 0.02, limit_of_error=0.03, feel=0.01),
    "rule": GaugeKind("steel rule", "mm", 0.5, limit_of_error=0.1, feel=0.1),
    "dial": GaugeKind("dial indicator", "mm", 0.01, limit_of_error=0.01, feel=0.002),
    "micrometer": GaugeKind("micrometer", "mm", 0.01, limit_of_error=0.004, feel=0.002),
    "fine dial": GaugeKind("lever dial indicator reading 0.002 mm", "mm", 0.002, limit_of_error=0.002, feel=0.001),
    "spring balance": GaugeKind("spring balance", "g", 2.0, share=0.04, feel=1.0),
    "fine spring balance": GaugeKind("fine gram gauge", "g", 0.5, share=0.02, feel=0.3),
    "protractor": GaugeKind("degree wheel", "deg", 1.0, feel=0.5),
    "counter": GaugeKind("counting", "count", 0.0),
    "strobe": GaugeKind("stroboscope", "rpm", 0.0, share=0.002, feel=0.5),
    "meter": GaugeKind("panel meter", "V", 1.0, share=0.015),
    "line": GaugeKind("the line signal, timed", "ms", 0.0, share=0.0002, feel=0.005),
    "eye": GaugeKind("eye", "yes", 0.0),
}


def leaf_stack_u(leaves_mm: tuple[float, ...], leaf_u_mm: float | None = None) -> float:
    """Standard uncertainty, mm, of a stack of leaves: each leaf's own doubt, and the feel once.

    Leaves of one set are taken as made independently of each other, so their doubts add in squares.
    """
    leaf = GAUGES["leaf"]
    one = rectangular(leaf.limit_of_error) if leaf_u_mm is None else leaf_u_mm
    return combined([*(one for _ in leaves_mm), leaf.feel])
