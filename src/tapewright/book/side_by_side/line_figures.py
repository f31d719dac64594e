"""What a line document (tapewright/line/1) says: speed, and each contact.

The doubt of a unit holds the recorder's clock (the bound --clock-ppm, taken as rectangular); two recordings with one
recorder share it. A contact's own lateness is so short that the clock has no part in its doubt.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from tapewright.book.side_by_side.figure import Basis, Figure, Group, at, count, items, measured, number, share_of
from tapewright.number import Reading, missing

CLOCK = "the recorder's clock"
#: Two nominal speeds nearer than this are the same speed, differently rounded.
SAME_NOMINAL = 0.005
NOT_PROVEN = "the speed is not proven, so no timing is"
NOT_SEEN = "it does not occur in the recording"
#: name in the document -> (name for people, unit, whether it is a time by the recorder's clock)
SPEED: Mapping[str, tuple[str, str, bool]] = {
    "unit_ms": ("unit", "ms", True),
    "error_percent": ("speed against nominal", "percent", False),
    "stop_units": ("stop length", "unit", False),
    "ripple_percent": ("ripple of the speed", "percent", False),
    "drift_percent": ("drift of the speed", "percent", False),
}
DISTORTION: Mapping[str, str] = {
    "marking_bias_percent": "marking bias",
    "end_percent": "marking end distortion",
    "start_reference_percent": "start reference, late",
    "scatter_percent": "scatter of the instants",
}
WHY: Mapping[str, str] = {
    "ripple_percent": "no ripple stands out of the scatter",
    "drift_percent": "too few characters to see a drift",
    "stop_units": "no run of characters at full speed",
    "error_percent": "the nominal speed is not known",
    "start_reference_percent": "closings and openings are displaced differently",
}
ACTIONS = (("closing", "closing_late_ms"), ("opening", "opening_late_ms"))


def nominal_baud(document: Mapping[str, Any]) -> float | None:
    """Return the speed the machine was made for, as far as the document knows."""
    return number(document, "speed", "nominal_baud")


def line_figures(document: Mapping[str, Any], *, in_units: bool) -> Iterator[Figure]:
    """Return the figures of a line document.

    Args:
        document: tapewright/line/1.
        in_units: give contacts in per cent of a unit instead of ms, as two machines of different speed need.
    """
    if at(document, "speed", "proven") is False:
        for figure in _figures(document, in_units=in_units):
            yield replace(figure, alone=NOT_PROVEN)
    else:
        yield from _figures(document, in_units=in_units)


def _figures(document: Mapping[str, Any], *, in_units: bool) -> Iterator[Figure]:
    yield from _speed(document)
    for name, what in DISTORTION.items():
        why = WHY.get(name, NOT_SEEN)
        yield Figure(Group.CONTACTS, what, measured(document, "distortion", name, unit="percent", why=why))
    unit = measured(document, "speed", "unit_ms", unit="ms").value or 0.0
    for contact in items(document, "contacts"):
        yield from _contact(contact, unit if in_units else None)
    yield from _errors(document)


def _speed(document: Mapping[str, Any]) -> Iterator[Figure]:
    nominal = nominal_baud(document)
    clock = (number(document, "source", "clock_ppm") or 0.0) * 1e-6 / math.sqrt(3)
    for name, (what, unit, timed) in SPEED.items():
        reading = measured(document, "speed", name, unit=unit, why=WHY.get(name, "it could not be measured"))
        basis = Basis("made for", nominal, "Bd", SAME_NOMINAL) if timed and nominal else None
        moved = (reading.value or 0.0) * clock if timed else 0.0
        if name == "error_percent":
            moved = -(100 + (reading.value or 0.0)) * clock
        yield Figure(Group.SPEED, what, reading, shared_u=moved, shared=CLOCK if moved else "", basis=basis)


def _contact(contact: Mapping[str, Any], unit_ms: float | None) -> Iterator[Figure]:
    name = contact.get("contact")
    label = "stop contact" if name == "stop" else f"contact {name}"
    notes = at(contact, "notes", 0)
    for action, key in ACTIONS:
        if name == "stop" and action == "opening":
            continue  # it is what everything is timed from
        reading = measured(contact, key, unit="ms", why=notes if isinstance(notes, str) else NOT_SEEN)
        yield Figure(Group.CONTACTS, f"{action} of {label}, late", _in_unit(reading, unit_ms))
    bounce = number(contact, "bounce_ms", "median")
    if bounce:
        reading = Reading(bounce, None, "ms", how="median")
        yield Figure(Group.CONTACTS, f"bounce of {label}", reading, alone="a bounce is given without its doubt")
    closings, dropouts = count(contact, "closing_seen", 1), count(contact, "dropouts")
    if closings and dropouts is not None and dropouts <= closings:
        yield Figure(Group.CONTACTS, f"dropouts of {label}", share_of(dropouts, closings), nothing=not dropouts)


def _in_unit(reading: Reading, unit_ms: float | None) -> Reading:
    if unit_ms is None:
        return reading
    if unit_ms <= 0:
        return missing("percent of a unit", "its unit is not known")
    return reading.scaled(100 / unit_ms, "percent of a unit")


def _errors(document: Mapping[str, Any]) -> Iterator[Figure]:
    wrong, sent = count(document, "errors", "wrong"), count(document, "errors", "sent")
    if wrong is not None and sent and wrong <= sent:
        yield Figure(Group.CONTACTS, "characters wrong on the line", share_of(wrong, sent))
