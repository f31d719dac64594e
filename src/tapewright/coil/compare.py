"""Low against high voltage: the same coil, the same current, the same pull and the same heat in the coil.

Two recordings of the same coil: cold and warm, before and after oiling. Each difference with its doubt.
"""

from dataclasses import dataclass, replace

import numpy as np

from tapewright.coil.armature import break_, make
from tapewright.coil.document import Signature
from tapewright.coil.drive.drive import Drive
from tapewright.number import Reading, missing
from tapewright.reference.conductors import COPPER_PER_KELVIN

#: voltages found on benches and loops
BENCH_V = (12.0, 24.0, 48.0, 80.0, 120.0, 170.0)

WHY = (
    "Same current, so same pull, same L I^2 / 2 and same heat in the coil at the same duty. What the volts change is "
    "how soon the current is there: the time constant is L / (R + Rs) = L I / V, so ten times the volts rise ten "
    "times sooner. The price is heat in the resistor, and a loop that bites."
)


@dataclass(frozen=True, slots=True)
class Alternative:
    """The coil from one voltage.

    Attributes:
        volts: supply.
        series_ohm: resistor that gives the same current.
        tau_s: time constant.
        operate_s: after a long space; None when the armature never follows.
        release_s: after a long mark.
        bias_percent: (release - operate) / unit.
        coil_w: heat in the coil, the same for all.
        resistor_w: heat in the resistor.
    """

    volts: float
    series_ohm: float
    tau_s: float
    operate_s: float | None
    release_s: float | None
    bias_percent: float | None
    coil_w: float
    resistor_w: float


def at_other_voltages(drive: Drive, unit_s: float) -> tuple[Alternative, ...]:
    """Return the drive at its own and at other voltages, each with the resistor for the same current."""
    current = drive.steady_a
    least = current * drive.coil.r_ohm
    every = sorted({drive.supply.volts, *(v for v in BENCH_V if v >= least)})
    return tuple(_at(drive, volts, current, unit_s) for volts in every)


def _at(drive: Drive, volts: float, current: float, unit_s: float) -> Alternative:
    own = volts == drive.supply.volts
    series = drive.series_ohm if own else max(0.0, volts / current - drive.coil.r_ohm)
    supply = drive.supply if own else replace(drive.supply, volts=volts, limit_a=float("inf"))
    part = drive.suppressor
    changed = replace(drive, series_ohm=series, supply=supply)
    clamps = part.on_contact and part.clamp_v(drive.breakdown_v) <= volts
    operate = make(changed)[0]
    release = None if clamps and part.c_f == 0 else break_(changed)[0]
    both = operate is not None and release is not None
    bias = ((release or 0.0) - (operate or 0.0)) / unit_s * 100 if both else None
    return Alternative(
        volts, series, changed.tau_s, operate, release, bias, drive.coil.r_ohm * current**2, series * current**2
    )


@dataclass(frozen=True, slots=True)
class Change:
    """One figure before and after.

    Attributes:
        name: which.
        before: first recording.
        after: second recording.
        change: after minus before.
        shown: True when the change is larger than its doubt U = 2u.
    """

    name: str
    before: Reading
    after: Reading
    change: Reading
    shown: bool


def changes(before: Signature, after: Signature) -> tuple[Change, ...]:
    """Compare two signatures; a temperature from the resistance comes with them."""
    pairs = (
        ("resistance", before.resistance_ohm, after.resistance_ohm),
        ("inductance", before.inductance_h, after.inductance_h),
        ("landing", before.landing, after.landing),
        ("scatter of the landing", before.scatter, after.scatter),
        ("release", before.release, after.release),
    )
    found = [_change(name, one, other) for name, one, other in pairs]
    warmer = _warmer(before.resistance_ohm, after.resistance_ohm)
    shown = warmer.value is not None and warmer.expanded is not None and abs(warmer.value) > warmer.expanded
    nothing = missing("K", "")
    return (*found, Change("winding warmer by", nothing, nothing, warmer, shown))


def _change(name: str, one: Reading, other: Reading) -> Change:
    if one.value is None or other.value is None or one.u is None or other.u is None:
        why = one.how if one.value is None else other.how
        return Change(name, one, other, missing(one.unit, why), False)
    change = Reading(other.value - one.value, float(np.hypot(one.u, other.u)), one.unit, how="after minus before")
    return Change(name, one, other, change, abs(change.value or 0.0) > (change.expanded or 0.0))


def _warmer(one: Reading, other: Reading) -> Reading:
    """Temperature rise from the growth of copper's resistance."""
    if one.value is None or other.value is None or one.u is None or other.u is None:
        return missing("K", one.how if one.value is None else other.how)
    ratio = other.value / one.value
    u = ratio * float(np.hypot(one.u / one.value, other.u / other.value)) / COPPER_PER_KELVIN.value
    return Reading((ratio - 1) / COPPER_PER_KELVIN.value, u, "K", how="copper, from the resistance")
