"""Choose resistor and suppressor: search them all quickly, then prove each choice by the exact solution.

The parts a search tries: resistors and suppressors in the steps they are sold in (E12, from memory).
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from tapewright.coil.armature import break_
from tapewright.coil.document import ChoiceFound, Search, SuppressorChosen, WishAsked
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


@dataclass(frozen=True, slots=True, eq=False)
class Searched:
    """What a search gave.

    Attributes:
        wish: what was wanted.
        found: every drive that was tried.
        choices: for each kind of suppressor the one with the least heat, proved; least heat first.
        best: the drive of the first choice; None where there is none.
    """

    wish: Wish
    found: Found
    choices: tuple[ChoiceFound, ...]
    best: Drive | None

    def document(self) -> Search:
        """Return what is written of it."""
        wish = self.wish
        return Search(
            wish=WishAsked(
                added_bias_percent=wish.bias_percent,
                contact_v=wish.contact_v,
                least_current_ratio=wish.current_ratio,
                most_resistor_w=wish.resistor_w if np.isfinite(wish.resistor_w) else None,
            ),
            tried=int(self.found.series_ohm.size),
            meeting=int(self.found.meets.sum()),
            choices=self.choices,
        )


def choose(request: Request, wish: Wish, low_ohm: float, high_ohm: float | None, count: int) -> Searched:
    """Search resistors between two ends (up to where the wished current ends) with the usual suppressors."""
    drive = request.drive
    most = drive.supply.volts / (wish.current_ratio * drive.coil.pull_in_a) - drive.coil.r_ohm
    resistors = resistors_between(drive, low_ohm, most if high_ohm is None else high_ohm, count)
    found = search(
        drive, resistors, usual_suppressors(drive), wish, request.codes,
        unit_s=request.unit_s, stop_units=request.stop_units,
    )  # fmt: skip
    proved = [one for index in found.best() if (one := _prove(request, found, index)) and _meets(one[1], wish)]
    return Searched(wish, found, tuple(choice for _, choice in proved), proved[0][0] if proved else None)


def _meets(choice: ChoiceFound, wish: Wish) -> bool:
    return choice.worst_percent <= wish.bias_percent and choice.peak_v <= wish.contact_v


def _prove(request: Request, found: Found, index: int) -> tuple[Drive, ChoiceFound] | None:
    part, series = found.parts[int(found.part[index])], float(found.series_ohm[index])
    drive = replace(request.drive, series_ohm=series, suppressor=part)
    stream = send(drive, request.codes, unit_s=request.unit_s, stop_units=request.stop_units)
    if stream.worst_s is None or stream.bias_s is None:
        return None
    _, broken = break_(drive)
    peak = max(broken.highest("switch_v"), drive.supply.volts)
    unit = request.unit_s
    return drive, ChoiceFound(
        series_ohm=series,
        suppressor=SuppressorChosen(
            kind=part.kind.value,
            r_ohm=part.r_ohm,
            volts=part.volts,
            c_f=part.c_f,
            across="contact" if part.on_contact else "coil",
            words=str(part),
        ),
        steady_a=drive.steady_a,
        worst_percent=stream.worst_s / unit * 100,
        added_bias_percent=stream.bias_s / unit * 100,
        peak_v=peak,
        resistor_w=series * drive.steady_a**2,
    )
