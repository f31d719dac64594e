r"""The drive as a set of linear circuits, one for each condition of switch, suppressor and supply.

State x = (i, u, w, 1): coil current, voltage on the RC capacitor, voltage at the supply's terminals, and a one
that carries the constants. In each condition x' = M x exactly; every voltage and every guard is a row g with
g . x. The circuit stays in a condition until one of its guards turns positive:

    switch closed --- current asks for more than the limit ---> supply LIMITS
    switch open, suppressor conducting --- current gone ---> OFF

Kirchhoff's laws only; the conditions are those of the picture in drive.py.
"""

import math
from dataclasses import dataclass, field
from enum import Enum

import numpy as np
import numpy.typing as npt

from tapewright.coil.drive.drive import Drive, Kind

FloatArray = npt.NDArray[np.float64]

#: rows that pick one state
CURRENT = np.array([1.0, 0.0, 0.0, 0.0])
CAPACITOR = np.array([0.0, 1.0, 0.0, 0.0])
TERMINALS = np.array([0.0, 0.0, 1.0, 0.0])
ONE = np.array([0.0, 0.0, 0.0, 1.0])
NOTHING = np.zeros(4)


class Output(Enum):
    """What the supply is doing."""

    HOLDS = "holds its voltage"
    LIMITS = "gives its limit; its capacitor makes up the difference"
    CLIMBS = "climbs back to its voltage"
    DRAINED = "is run down to nothing"


@dataclass(frozen=True, slots=True)
class Condition:
    """Which linear circuit holds now."""

    closed: bool
    conducting: bool
    output: Output


@dataclass(frozen=True, slots=True)
class Guard:
    """When `row . x` turns positive the circuit goes over to `then`."""

    row: FloatArray
    then: Condition


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Linear circuit of one condition.

    Attributes:
        matrix: shape (4, 4), x' = matrix x.
        coil_v: row of the coil's voltage.
        switch_v: row of the voltage across the switch.
        load_a: row of the current the supply delivers.
        switch_a: row of the current through the closed switch.
        guards: the ways out.
    """

    matrix: FloatArray
    coil_v: FloatArray
    switch_v: FloatArray
    load_a: FloatArray
    switch_a: FloatArray
    guards: tuple[Guard, ...] = field(default=())


def rows_of(drive: Drive, now: Condition) -> Rows:
    """Return the linear circuit of one condition of a drive."""
    coil_v, load_a, capacitor_a = _closed(drive, now) if now.closed else _open(drive, now)
    supply_a, output_guards = _output(drive, now, load_a)
    matrix = np.zeros((4, 4))
    if now.closed or now.conducting:
        matrix[0] = (coil_v - drive.coil.r_ohm * CURRENT) / drive.coil.l_h
    if drive.suppressor.kind is Kind.RC:
        matrix[1] = capacitor_a / drive.suppressor.c_f
    matrix[2] = supply_a
    switch_v = NOTHING if now.closed else TERMINALS - drive.series_ohm * load_a - coil_v
    switch_a = NOTHING
    if now.closed:
        beside = capacitor_a if drive.suppressor.kind is Kind.RC and drive.suppressor.across_contact else NOTHING
        switch_a = load_a - beside
    guards = (*_suppressor_guards(drive, now, coil_v), *output_guards)
    return Rows(matrix, coil_v, switch_v, load_a, switch_a, guards)


def _closed(drive: Drive, now: Condition) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return rows of coil voltage, supply current and capacitor current with the switch closed."""
    rs, part = drive.series_ohm, drive.suppressor
    if part.kind is Kind.RC and not part.across_contact:
        # the coil's node: (w - v) / rs = i + (v - u) / r, both sides times rs
        coil_v = (TERMINALS - rs * CURRENT + rs / part.r_ohm * CAPACITOR) / (1 + rs / part.r_ohm)
        capacitor_a = (coil_v - CAPACITOR) / part.r_ohm
        return coil_v, CURRENT + capacitor_a, capacitor_a
    if part.kind is Kind.RC:
        return TERMINALS - rs * CURRENT, CURRENT, -CAPACITOR / part.r_ohm
    if now.conducting and not part.on_contact:
        # the supply has collapsed under a coil whose current the clamp now carries beside it
        clamp_v, r = part.clamp_v(drive.breakdown_v), _slope(drive)
        coil_v = (r * (TERMINALS - rs * CURRENT) - rs * clamp_v * ONE) / (r + rs)
        return coil_v, (TERMINALS - coil_v) / rs, NOTHING
    return TERMINALS - rs * CURRENT, CURRENT, NOTHING


def _open(drive: Drive, now: Condition) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the same rows with the switch open."""
    part = drive.suppressor
    if part.kind is Kind.RC and part.across_contact:
        coil_v = TERMINALS - (drive.series_ohm + part.r_ohm) * CURRENT - CAPACITOR
        return coil_v, CURRENT, CURRENT
    if part.kind is Kind.RC:
        return CAPACITOR - part.r_ohm * CURRENT, NOTHING, -CURRENT
    if not now.conducting:
        return NOTHING, NOTHING, NOTHING
    clamp_v = part.clamp_v(drive.breakdown_v) * ONE
    if part.on_contact:
        return TERMINALS - clamp_v - (drive.series_ohm + _slope(drive)) * CURRENT, CURRENT, NOTHING
    return -clamp_v - _slope(drive) * CURRENT, NOTHING, NOTHING


def _slope(drive: Drive) -> float:
    """Resistance in series with the clamp."""
    return drive.suppressor.r_ohm if drive.suppressor.kind in (Kind.DIODE_R, Kind.ZENER) else 0.0


def _suppressor_guards(drive: Drive, now: Condition, coil_v: FloatArray) -> list[Guard]:
    part = drive.suppressor
    if part.kind is Kind.RC:
        return []
    if not now.closed:
        return [Guard(-CURRENT, Condition(False, False, now.output))] if now.conducting else []
    if part.on_contact or drive.series_ohm == 0 or math.isinf(drive.supply.limit_a):
        return []
    # the clamp across the coil takes over while the supply is down: coil voltage below -clamp
    below = -(TERMINALS - drive.series_ohm * CURRENT) - part.clamp_v(drive.breakdown_v) * ONE
    return [Guard(-below if now.conducting else below, Condition(True, not now.conducting, now.output))]


def _output(drive: Drive, now: Condition, load_a: FloatArray) -> tuple[FloatArray, list[Guard]]:
    """Return the row of w' and the ways out of the supply's state."""
    supply = drive.supply
    if math.isinf(supply.limit_a):
        return NOTHING, []
    too_much = load_a - supply.limit_a * ONE
    charging = -too_much / supply.c_out_f
    full = TERMINALS - supply.volts * ONE

    def to(output: Output) -> Condition:
        return Condition(now.closed, now.conducting, output)

    if now.output is Output.HOLDS:
        return NOTHING, [Guard(too_much, to(Output.LIMITS))]
    if now.output is Output.DRAINED:
        return NOTHING, [Guard(-too_much, to(Output.LIMITS))]
    climb = supply.volts / supply.recovery_s * ONE if supply.recovery_s > 0 else None
    if now.output is Output.CLIMBS and climb is not None:
        return climb, [Guard(full, to(Output.HOLDS)), Guard(climb - charging, to(Output.LIMITS))]
    guards = [Guard(full, to(Output.HOLDS)), Guard(-TERMINALS, to(Output.DRAINED))]
    if climb is not None:
        guards.append(Guard(charging - climb, to(Output.CLIMBS)))
    return charging, guards
