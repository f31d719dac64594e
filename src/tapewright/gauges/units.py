"""Units of the bench, and the step from one to another of the same family.

Exact by definition: 1 in = 25.4 mm and 1 oz = 28.349523125 g (international yard and pound, 1959);
standard gravity 9.80665 m/s2 (3rd CGPM 1901). A spring balance in g or oz reads the weight of that mass.
"""

from typing import NamedTuple

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
