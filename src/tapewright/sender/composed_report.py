"""What was composed, for programs and for people."""

from typing import Any

from tapewright.sender.compose import STOP, Composed, Sender

_ASKED = {"marking bias": "bias_percent", "marking end distortion": "end_percent", "scatter": "scatter_percent"}


def document_of(name: str, size_bytes: int, composed: Composed, sender: Sender) -> dict[str, Any]:
    """Return the document tapewright/composed/1: what went in, so that a reading can be held against it."""
    sent, instrument = composed.transmission, composed.instrument
    machine, line = sent.transmitter, sent.line
    contacts = dict(zip(map(str, range(1, len(machine.contacts) + 1)), machine.contacts, strict=True))
    return {
        "format": "tapewright/composed/1",
        "file": name,
        "bytes": size_bytes,
        "contents": composed.contents,
        "rate_hz": instrument.rate_hz,
        "idle": "low" if instrument.inverted else "high",
        "duration_s": line.end_s - line.begin_s,
        "changes": composed.changes,
        "keyed": list(sent.keyed),
        "codes": list(sent.sent),
        "sender": sender.machine or "ideal",
        "nominal_baud": sender.exact_baud,
        "unit_ms": 1000 * machine.motor.unit_s,
        "stop_units": machine.stop_units,
        "bias_percent": sender.bias_percent,
        "end_percent": sender.end_percent,
        "scatter_percent": sender.scatter_percent,
        "contacts": [
            {
                "contact": which,
                "closing_late_ms": 1000 * contact.closing_late_s,
                "opening_late_ms": 1000 * contact.opening_late_s,
                "bounce_ms": 1000 * contact.bounce_s,
                "dropouts_per_s": contact.dropouts_per_s,
            }
            for which, contact in (contacts | {STOP: machine.stop}).items()
        ],
        "seed": composed.seed,
    }


def words_of(document: dict[str, Any]) -> str:
    """Say the same to a person."""
    machine = document["sender"]
    who = "an ideal sender" if machine == "ideal" else f"{machine.capitalize()}, the practice machine"
    many = len(document["codes"])
    lines = [
        f"Wrote {document['file']}: {many} character{'s' * (many != 1)} in {document['duration_s']:.2f} s from {who}.",
        f"Unit {document['unit_ms']:.3f} ms, stop {document['stop_units']:g} units, idle {document['idle']}; "
        f"{document['contents']} at {document['rate_hz']:g} samples a second.",
        *(f"{name.capitalize()} {document[key]:g} % of a unit." for name, key in _ASKED.items() if document[key]),
    ]
    faulty = [c for c in document["contacts"] if any(c[key] for key in c if key != "contact")]
    wrong = sum(a != b for a, b in zip(document["keyed"], document["codes"], strict=True))
    bars = [f"The code bars made {wrong} of them another code."] * (wrong > 0)
    return "\n".join(lines + [_contact_words(contact) for contact in faulty] + bars)


def _contact_words(contact: dict[str, Any]) -> str:
    name = "Stop contact" if contact["contact"] == STOP else f"Contact {contact['contact']}"
    closes, opens = f"closes {_lateness(contact['closing_late_ms'])}", f"opens {_lateness(contact['opening_late_ms'])}"
    fails = f", fails {contact['dropouts_per_s']:g} times a second" if contact["dropouts_per_s"] else ""
    return f"{name} {closes}, {opens}, bounces {contact['bounce_ms']:.2f} ms{fails}."


def _lateness(ms: float) -> str:
    return "on time" if abs(ms) < 0.005 else f"{abs(ms):.2f} ms {'late' if ms > 0 else 'early'}"
