"""A plan as the JSON document tapewright/drive/1."""

from typing import Any

from tapewright.coil.compare import WHY, Alternative
from tapewright.coil.drive.heat import Power
from tapewright.coil.drive.plan import Plan
from tapewright.coil.stream import ElementShift, Spread, StreamResult
from tapewright.furniture.json_values import judged, measured

FORMAT = "tapewright/drive/1"


def plan_document(plan: Plan) -> dict[str, Any]:
    """Return the document."""
    drive = plan.request.drive
    part, coil = drive.suppressor, drive.coil
    return {
        "format": FORMAT,
        "cautions": list(plan.cautions),
        "coil": {
            "r_ohm": coil.r_ohm, "l_h": coil.l_h, "pull_in_a": coil.pull_in_a, "drop_out_a": coil.drop_out_a,
            "at_c": coil.at_c, "travel_ms": coil.travel_s * 1e3, "return_ms": coil.return_s * 1e3,
        },
        "supply": {
            "volts": drive.supply.volts,
            "limit_a": drive.supply.limit_a if drive.supply.limit_a < float("inf") else None,
            "recovery_ms": drive.supply.recovery_s * 1e3,
            "c_out_f": drive.supply.c_out_f,
        },
        "series": {"r_ohm": drive.series_ohm},
        "switch": {"side": "high" if drive.high_side else "low", "breakdown_v": drive.breakdown_v},
        "suppressor": {
            "kind": part.kind.value, "r_ohm": part.r_ohm, "volts": part.volts, "c_f": part.c_f, "drop_v": part.drop_v,
            "across": "contact" if part.on_contact else "coil", "words": str(part),
        },
        **{name: reading.value for name, reading in plan.figures.items()},
        "readings": {name: measured(reading) for name, reading in plan.figures.items()},
        "doubts": dict(plan.doubts),
        "fit_sold_w": plan.heat.sold_w,
        "stream": _stream(plan.request.text, plan.stream),
        "power": {
            "supply": _power(plan.heat.supply),
            "coil": _power(plan.heat.coil),
            "resistor": _power(plan.heat.resistor),
            "suppressor_mean_w": plan.heat.suppressor_mean_w,
            "break_j": plan.heat.break_j,
        },
        "contact_peak_a": plan.contact_peak_a,
        "lead_v": {"low": plan.lead_v[0], "high": plan.lead_v[1]},
        "duty": {
            "mark_fraction": plan.duty.mark_fraction, "held_w": plan.duty.held_w,
            "allowed_fraction": plan.duty.allowed_fraction, "hot_c": plan.duty.hot_c, "why": plan.duty.why,
        },
        "comparison": {"why": WHY, "at": [_alternative(a) for a in plan.comparison]},
        "verdicts": [judged(verdict) for verdict in plan.verdicts],
        "notes": [f"{name}: {reading.how}" for name, reading in plan.figures.items() if reading.value is None],
    }  # fmt: skip


def _power(power: Power) -> dict[str, float]:
    return {"held_w": power.held_w, "peak_w": power.peak_w, "mean_w": power.mean_w}


def _ms(spread: Spread) -> dict[str, Any]:
    scaled = {name: None if x is None else x * 1e3 for name, x in _ends(spread).items()}
    return {**scaled, "n": spread.n}


def _ends(spread: Spread) -> dict[str, float | None]:
    return {"mean": spread.mean, "low": spread.low, "high": spread.high}


def _stream(text: str, stream: StreamResult) -> dict[str, Any]:
    bias, worst, unit = stream.bias_s, stream.worst_s, stream.unit_s
    return {
        "text": text,
        "unit_ms": unit * 1e3,
        "transitions": len(stream.instants),
        "missed_marks": stream.missed_marks,
        "missed_spaces": stream.missed_spaces,
        "operate_ms": _ms(stream.operate),
        "release_ms": _ms(stream.release),
        "bias_ms": None if bias is None else bias * 1e3,
        "bias_percent": None if bias is None else bias / unit * 100,
        "worst_ms": None if worst is None else worst * 1e3,
        "worst_percent": None if worst is None else worst / unit * 100,
        "isolated_marks_longer_ms": _ms(stream.isolated(marks=True)),
        "isolated_spaces_longer_ms": _ms(stream.isolated(marks=False)),
        "per_element": [_element(shift, unit) for shift in stream.per_element()],
    }


def _element(shift: ElementShift, unit: float) -> dict[str, Any]:
    longer = shift.mark_longer.mean
    return {
        "element": shift.element,
        "begins_late_ms": _ms(shift.begins_late),
        "ends_late_ms": _ms(shift.ends_late),
        "mark_longer_ms": _ms(shift.mark_longer),
        "mark_longer_percent": None if longer is None else longer / unit * 100,
        "space_longer_ms": _ms(shift.space_longer),
    }


def _alternative(a: Alternative) -> dict[str, Any]:
    return {
        "volts": a.volts, "series_ohm": a.series_ohm, "tau_ms": a.tau_s * 1e3,
        "operate_ms": None if a.operate_s is None else a.operate_s * 1e3,
        "release_ms": None if a.release_s is None else a.release_s * 1e3,
        "added_bias_percent": a.bias_percent, "coil_w": a.coil_w, "resistor_w": a.resistor_w,
    }  # fmt: skip
