"""Choose resistor and suppressor: search them all quickly, then prove each choice by the exact solution.

The parts a search tries: resistors and suppressors in the steps they are sold in (E12, from memory).
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from tapewright.coil.armature import break_
from tapewright.coil.drive.drive import Drive, Kind, Suppressor
from tapewright.coil.drive.plan import Request
from tapewright.coil.drive.search import Found, Wish, search
from tapewright.coil.stream import send

E12 = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)
ZENERS_V = (12.0, 15.0, 18.0, 22.0, 27.0, 33.0, 39.0, 47.0, 56.0, 68.0, 82.0, 100.0, 120.0, 150.0, 180.0, 200.0)
#: rc values: resistance in ohm, capacitance in farad
RC_OHM, RC_F = (47.0, 100.0, 220.0, 470.0), (0.047e-6, 0.1e-6, 0.22e-6, 0.47e-6, 1e-6, 2.2e-6)


def usual_suppressors(drive: Drive) -> tuple[Suppressor, ...]:
    """Return one hundred suppressors or so: every kind, in the steps they are sold in."""
    parts = [Suppressor(Kind.NONE), Suppressor(Kind.DIODE)]
    parts += [Suppressor(Kind.DIODE_R, step * power) for power in (10.0, 100.0, 1000.0) for step in E12]
    parts += [Suppressor(Kind.ZENER, volts=volts) for volts in ZENERS_V]
    parts += [
        Suppressor(Kind.ZENER, volts=volts, across_contact=True)
        for volts in (*ZENERS_V, 220.0, 250.0, 300.0, 400.0)
        if volts > 1.1 * drive.supply.volts
    ]
    parts += [
        Suppressor(Kind.RC, r, c_f=c, across_contact=contact) for contact in (True, False) for r in RC_OHM for c in RC_F
    ]
    return tuple(parts)


def resistors_between(drive: Drive, low_ohm: float, high_ohm: float, count: int) -> npt.NDArray[np.float64]:
    """Return resistors, even in their logarithm, from `low_ohm` (a tenth of the coil's when 0) to `high_ohm`."""
    low = max(low_ohm, 0.1 * drive.coil.r_ohm)
    return np.geomspace(low, max(high_ohm, 1.01 * low), count)


@dataclass(frozen=True, slots=True)
class Choice:
    """One drive that meets the wish, figures from the exact solution.

    Attributes:
        drive: the drive.
        worst_percent: largest displacement of any instant over the text, percent of the unit.
        bias_percent: mean release minus operate, percent of the unit.
        peak_v: highest voltage across the opening contact.
        resistor_w: heat in the resistor held in mark.
    """

    drive: Drive
    worst_percent: float
    bias_percent: float
    peak_v: float
    resistor_w: float


@dataclass(frozen=True, slots=True, eq=False)
class Searched:
    """What a search gave.

    Attributes:
        wish: what was wanted.
        found: every drive that was tried.
        choices: for each kind of suppressor the one with the least heat, proved; least heat first.
    """

    wish: Wish
    found: Found
    choices: tuple[Choice, ...]


def choose(request: Request, wish: Wish, low_ohm: float, high_ohm: float | None, count: int) -> Searched:
    """Search resistors between two ends (up to where the wished current ends) with the usual suppressors."""
    drive = request.drive
    most = drive.supply.volts / (wish.current_ratio * drive.coil.pull_in_a) - drive.coil.r_ohm
    resistors = resistors_between(drive, low_ohm, most if high_ohm is None else high_ohm, count)
    found = search(
        drive, resistors, usual_suppressors(drive), wish, request.codes,
        unit_s=request.unit_s, stop_units=request.stop_units,
    )  # fmt: skip
    proved = [_prove(request, found, index) for index in found.best()]
    choices = tuple(choice for choice in proved if choice is not None and _meets(choice, wish))
    return Searched(wish, found, choices)


def _meets(choice: Choice, wish: Wish) -> bool:
    return choice.worst_percent <= wish.bias_percent and choice.peak_v <= wish.contact_v


def _prove(request: Request, found: Found, index: int) -> Choice | None:
    part, series = found.parts[int(found.part[index])], float(found.series_ohm[index])
    drive = replace(request.drive, series_ohm=series, suppressor=part)
    stream = send(drive, request.codes, unit_s=request.unit_s, stop_units=request.stop_units)
    if stream.worst_s is None or stream.bias_s is None:
        return None
    _, broken = break_(drive)
    peak = max(broken.highest("switch_v"), drive.supply.volts)
    unit = request.unit_s
    return Choice(
        drive, stream.worst_s / unit * 100, stream.bias_s / unit * 100, peak, series * drive.steady_a**2
    )
