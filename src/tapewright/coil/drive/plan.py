"""The whole plan of a drive: what it does to each element, to contact, resistor and coil, and what to mind first."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from tapewright.coil.armature import break_, held, make
from tapewright.coil.cautions import cautions_for
from tapewright.coil.document import (
    CoilGiven,
    DriveFigures,
    DrivePlan,
    Lead,
    SeriesGiven,
    SupplyGiven,
    SuppressorGiven,
    SwitchGiven,
)
from tapewright.coil.doubt import assumed_doubts, carried
from tapewright.coil.drive.drawing import circuit_lines
from tapewright.coil.drive.drive import Drive, Kind
from tapewright.coil.drive.drive_limits import judge_plan
from tapewright.coil.drive.heat import duty_of, fit_w, heat_of, sold_w
from tapewright.coil.drive.other_voltages import at_other_voltages
from tapewright.coil.drive.solved import Trace
from tapewright.coil.stream import StreamResult, send
from tapewright.number import Limit, Reading
from tapewright.reference.resistor_derating import USED_FRACTION


@dataclass(frozen=True, slots=True)
class Request:
    """What is to be planned.

    Attributes:
        drive: the drive, resistances at working temperature.
        unit_s: length of a unit.
        stop_units: length of the stop.
        codes: the text as codes.
        text: the text as written.
        stated_doubts: standard uncertainties the user gave, by name in the file.
        limits: limits the user gave.
        room_c: temperature of the room.
        series_rated_w: rating of the resistor at hand; None when it is still to be chosen.
    """

    drive: Drive
    unit_s: float
    stop_units: float
    codes: Sequence[str]
    text: str
    stated_doubts: Mapping[str, float] = field(default_factory=dict)
    limits: tuple[Limit, ...] = ()
    room_c: float = 20.0
    series_rated_w: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """What the drive will do, and what its pictures are drawn from.

    Attributes:
        request: what was asked.
        document: what is written of it.
        stream: the text as the armature follows it.
        make: current from the closing of the switch after a long space.
        broken: current from its opening after a long mark.
    """

    request: Request
    document: DrivePlan
    stream: StreamResult
    make: Trace
    broken: Trace


#: name of a figure -> its unit
UNITS = {
    "steady_a": "A", "asked_a": "A", "tau_ms": "ms", "operate_ms": "ms", "release_ms": "ms",
    "added_bias_percent": "percent", "peak_v": "V", "resistor_w": "W", "fit_w": "W", "energy_j": "J",
}  # fmt: skip


def plan(request: Request) -> Plan:
    """Plan a drive."""
    drive = request.drive
    values = headline(drive, request.unit_s)
    doubts = assumed_doubts(drive, request.stated_doubts)
    spread = carried(drive, doubts, lambda changed: headline(changed, request.unit_s))
    figures = {name: _reading(name, value, spread[name]) for name, value in values.items()}
    stream = send(drive, request.codes, unit_s=request.unit_s, stop_units=request.stop_units)
    mark = held(drive)
    _, made = make(drive)
    _, broken = break_(drive, mark)
    power = heat_of(drive, stream.trace, broken)
    duty = duty_of(drive, mark_fraction(stream), request.room_c)
    part = drive.suppressor
    rush_a = drive.supply.volts / part.r_ohm if part.kind is Kind.RC and part.across_contact else 0.0
    coil, supply = drive.coil, drive.supply
    document = DrivePlan(
        cautions=cautions_for(drive, power, values["peak_v"] or 0.0, stream),
        coil=CoilGiven(
            r_ohm=coil.r_ohm,
            l_h=coil.l_h,
            pull_in_a=coil.pull_in_a,
            drop_out_a=coil.drop_out_a,
            at_c=coil.at_c,
            travel_ms=coil.travel_s * 1e3,
            return_ms=coil.return_s * 1e3,
        ),
        supply=SupplyGiven(
            volts=supply.volts,
            limit_a=supply.limit_a if supply.limit_a < float("inf") else None,
            recovery_ms=supply.recovery_s * 1e3,
            c_out_f=supply.c_out_f,
        ),
        series=SeriesGiven(r_ohm=drive.series_ohm),
        switch=SwitchGiven(side="high" if drive.high_side else "low", breakdown_v=drive.breakdown_v),
        suppressor=SuppressorGiven(
            kind=part.kind.value,
            r_ohm=part.r_ohm,
            volts=part.volts,
            c_f=part.c_f,
            drop_v=part.drop_v,
            across="contact" if part.on_contact else "coil",
            words=str(part),
        ),
        circuit=circuit_lines(part, high_side=drive.high_side),
        steady_a=values["steady_a"],
        asked_a=values["asked_a"],
        tau_ms=values["tau_ms"],
        operate_ms=values["operate_ms"],
        release_ms=values["release_ms"],
        added_bias_percent=values["added_bias_percent"],
        peak_v=values["peak_v"],
        resistor_w=values["resistor_w"],
        fit_w=values["fit_w"],
        energy_j=values["energy_j"],
        readings=DriveFigures(**figures),
        doubts=doubts,
        fit_sold_w=sold_w(fit_w(power.resistor)),
        stream=stream.document(request.text),
        power=power,
        contact_peak_a=max(made.highest("switch_a"), rush_a),
        lead_v=_lead(drive, made, broken),
        duty=duty,
        comparison=at_other_voltages(drive, request.unit_s),
        verdicts=judge_plan(drive, figures, stream, request.limits, request.series_rated_w, duty),
        notes=tuple(f"{name}: {reading.how}" for name, reading in figures.items() if reading.value is None),
    )
    return Plan(request, document, stream, made, broken)


def headline(drive: Drive, unit_s: float) -> dict[str, float | None]:
    """Return the figures that one make and one break decide; None for an armature that never follows."""
    operate, made = make(drive)
    release, broken = break_(drive)
    both = operate is not None and release is not None
    resistor_w = drive.series_ohm * drive.steady_a**2
    return {
        "steady_a": drive.steady_a,
        "asked_a": drive.unlimited_a,
        "tau_ms": drive.tau_s * 1e3,
        "operate_ms": None if operate is None else operate * 1e3,
        "release_ms": None if release is None else release * 1e3,
        "added_bias_percent": ((release or 0.0) - (operate or 0.0)) / unit_s * 100 if both else None,
        "peak_v": max(broken.highest("switch_v"), made.highest("switch_v"), drive.supply.volts),
        "resistor_w": resistor_w,
        "fit_w": resistor_w / USED_FRACTION.value,
        "energy_j": drive.energy_j,
    }


def _reading(name: str, value: float | None, u: float | None) -> Reading:
    how = "computed from the figures given and their doubt"
    if value is None:
        how = "the armature never follows"
    elif u is None:
        how = "within the doubt of what was given the armature may never follow"
    return Reading(value, None if value is None else u, UNITS[name], how=how)


def mark_fraction(stream: StreamResult) -> float:
    """Share of the text during which the switch is closed."""
    closed = sum(s.end_s - s.start_s for s in stream.trace.segments if s.condition.closed)
    return closed / stream.end_s


def _lead(drive: Drive, made: Trace, broken: Trace) -> Lead:
    if drive.high_side:
        low = -max((-s.along(s.solved.rows.coil_v)).max() for t in (made, broken) for s in t.segments)
        return Lead(low=float(low), high=max(made.highest("coil_v"), 0.0))
    return Lead(low=0.0, high=max(broken.highest("switch_v"), drive.supply.volts))
