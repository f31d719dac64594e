"""Choose resistor and suppressor: search them all quickly, then prove each choice by the exact solution."""

from dataclasses import dataclass, replace

from tapewright.core.magnet.armature import break_
from tapewright.core.magnet.drive import Drive
from tapewright.core.magnet.parts import resistors_between, usual_suppressors
from tapewright.core.magnet.plan import Request
from tapewright.core.magnet.search import Found, Wish, search
from tapewright.core.magnet.stream import send


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
