"""How unsure a plan is: the doubt of each figure that went in, carried through to each figure that comes out.

u^2(y) = sum over inputs of (dy/dx u(x))^2 (JCGM 100:2008, 5.1.2), the slope taken across x - u .. x + u.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import replace

from tapewright.coil.drive.drive import Drive, Kind

#: Doubt taken where the user states none, as a fraction of the value. Common practice, no source: a multimeter on
#: R, a time constant read off a trace for L, a slowly turned supply for the two currents, film parts.
ASSUMED: Mapping[str, float] = {
    "coil.r_ohm": 0.01,
    "coil.l_h": 0.05,
    "coil.pull_in_a": 0.03,
    "coil.drop_out_a": 0.03,
    "coil.travel_ms": 0.1,
    "coil.return_ms": 0.1,
    "supply.volts": 0.01,
    "supply.limit_a": 0.01,
    "series.r_ohm": 0.01,
    "suppressor.r_ohm": 0.01,
    "suppressor.volts": 0.05,
    "suppressor.c_f": 0.1,
    "suppressor.drop_v": 0.15,
    "switch.breakdown_v": 0.1,
}

_Change = Callable[[Drive, float], Drive]


def _coil(name: str, scale: float = 1.0) -> _Change:
    return lambda d, by: replace(d, coil=replace(d.coil, **{name: getattr(d.coil, name) + by * scale}))


def _supply(name: str) -> _Change:
    return lambda d, by: replace(d, supply=replace(d.supply, **{name: getattr(d.supply, name) + by}))


def _part(name: str) -> _Change:
    return lambda d, by: replace(d, suppressor=replace(d.suppressor, **{name: getattr(d.suppressor, name) + by}))


#: name in the file -> how to change it by an amount in the file's unit
CHANGE: Mapping[str, _Change] = {
    "coil.r_ohm": _coil("r_ohm"),
    "coil.l_h": _coil("l_h"),
    "coil.pull_in_a": _coil("pull_in_a"),
    "coil.drop_out_a": _coil("drop_out_a"),
    "coil.travel_ms": _coil("travel_s", 1e-3),
    "coil.return_ms": _coil("return_s", 1e-3),
    "supply.volts": _supply("volts"),
    "supply.limit_a": _supply("limit_a"),
    "series.r_ohm": lambda d, by: replace(d, series_ohm=d.series_ohm + by),
    "suppressor.r_ohm": _part("r_ohm"),
    "suppressor.volts": _part("volts"),
    "suppressor.c_f": _part("c_f"),
    "suppressor.drop_v": _part("drop_v"),
    "switch.breakdown_v": lambda d, by: replace(d, breakdown_v=d.breakdown_v + by),
}

#: which of the suppressor's figures matter for which kind
_MATTERS: Mapping[Kind, frozenset[str]] = {
    Kind.NONE: frozenset({"switch.breakdown_v"}),
    Kind.DIODE: frozenset({"suppressor.drop_v"}),
    Kind.DIODE_R: frozenset({"suppressor.drop_v", "suppressor.r_ohm"}),
    Kind.ZENER: frozenset({"suppressor.volts", "suppressor.r_ohm"}),
    Kind.RC: frozenset({"suppressor.r_ohm", "suppressor.c_f"}),
}


def assumed_doubts(drive: Drive, stated: Mapping[str, float]) -> dict[str, float]:
    """Return the doubt of every figure that matters in this drive: as stated, else assumed."""
    values = {
        "coil.r_ohm": drive.coil.r_ohm,
        "coil.l_h": drive.coil.l_h,
        "coil.pull_in_a": drive.coil.pull_in_a,
        "coil.drop_out_a": drive.coil.drop_out_a,
        "coil.travel_ms": drive.coil.travel_s * 1e3,
        "coil.return_ms": drive.coil.return_s * 1e3,
        "supply.volts": drive.supply.volts,
        "supply.limit_a": drive.supply.limit_a,
        "series.r_ohm": drive.series_ohm,
        "suppressor.r_ohm": drive.suppressor.r_ohm,
        "suppressor.volts": drive.suppressor.volts,
        "suppressor.c_f": drive.suppressor.c_f,
        "suppressor.drop_v": drive.suppressor.drop_v,
        "switch.breakdown_v": drive.breakdown_v,
    }
    doubts = {}
    for name, value in values.items():
        if name.startswith(("suppressor", "switch")) and name not in _MATTERS[drive.suppressor.kind]:
            continue
        doubt = stated.get(name, abs(value) * ASSUMED[name] if math.isfinite(value) else 0.0)
        if doubt > 0:
            doubts[name] = doubt
    return doubts


def carried(
    drive: Drive, doubts: Mapping[str, float], figures: Callable[[Drive], Mapping[str, float | None]]
) -> dict[str, float | None]:
    """Return the standard uncertainty of each figure; None where a figure is lost within the doubt of an input."""
    squares: dict[str, float | None] = dict.fromkeys(figures(drive), 0.0)
    for name, doubt in doubts.items():
        up, down = figures(CHANGE[name](drive, doubt)), figures(CHANGE[name](drive, -doubt))
        for figure, square in squares.items():
            high, low = up[figure], down[figure]
            known = square is not None and high is not None and low is not None
            squares[figure] = square + ((high - low) / 2) ** 2 if known else None  # type: ignore[operator]
    return {figure: None if square is None else math.sqrt(square) for figure, square in squares.items()}
