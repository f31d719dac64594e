"""What was sent, and how it went out, as JSON and as words."""

from collections.abc import Sequence
from typing import Any

from tapewright.alphabets import Alphabet, decode
from tapewright.furniture.json_values import measured
from tapewright.sender.send import Sending, SinkOnOffer

ASKED = {
    "marking bias": "bias_percent",
    "marking end distortion": "end_percent",
    "scatter": "scatter_percent",
    "speed error": "speed_error_percent",
}


def sent_document(sending: Sending, alphabet: Alphabet) -> dict[str, Any]:
    """Return the document tapewright/sent/1: what went in, so that a reading can be held against it."""
    transmission, sender, delivered = sending.transmission, sending.sender, sending.delivered
    machine, line = transmission.transmitter, transmission.line
    printed = delivered.printed
    return {
        "format": "tapewright/sent/1",
        "sink": sending.sink,
        "how": delivered.how,
        "keyed": list(transmission.keyed),
        "codes": list(transmission.sent),
        "nominal_baud": sender.exact_baud,
        "sent_baud": delivered.baud,
        "unit_ms": 1000 * machine.motor.unit_s,
        "stop_units": machine.stop_units,
        **{key: getattr(sender, key) for key in ASKED.values()},
        "duration_s": line.end_s - line.begin_s,
        "changes": int(line.times_s.size),
        "jitter_ms": measured(delivered.jitter_ms),
        "latest_ms": delivered.latest_ms,
        "printed": None if printed is None else {
            "codes": list(printed),
            "text": decode(list(printed), alphabet),
            "as_sent": list(printed) == list(transmission.sent),
        },
        "notes": list(delivered.notes),
    }  # fmt: skip


def sent_words(sending: Sending, alphabet: Alphabet) -> str:
    """Say the same to a person."""
    document = sent_document(sending, alphabet)
    many = len(document["codes"])
    how = f"{document['sink']}: {document['how']}"
    lines = [
        f"Sent {many} character{'s' * (many != 1)} in {document['duration_s']:.2f} s to {how}.",
        f"Unit {document['unit_ms']:.3f} ms, stop {document['stop_units']:g} units.",
    ]
    lines += [f"{name.capitalize()} {document[key]:g} %{_of(key)}." for name, key in ASKED.items() if document[key]]
    delivered = sending.delivered
    if delivered.jitter_ms is not None:
        lines += [f"Jitter of the changes {delivered.jitter_ms}, the latest {delivered.latest_ms:.3f} ms late."]
    if delivered.printed is not None:
        text = document["printed"]["text"]
        lines += [f"It printed{'' if document['printed']['as_sent'] else ', not as sent'}: {text}"]
    return "\n".join([*lines, *document["notes"]])


def sinks_document(offers: Sequence[SinkOnOffer]) -> dict[str, Any]:
    """Return the document tapewright/sinks/1."""
    return {
        "format": "tapewright/sinks/1",
        "sinks": [
            {
                "kind": o.kind,
                "what": o.what,
                "example": o.example,
                "found": list(o.found),
                "unavailable": o.unavailable or None,
            }
            for o in offers
        ],
    }


def sinks_words(offers: Sequence[SinkOnOffer]) -> str:
    """List the sinks."""
    lines = []
    for o in offers:
        lines += [f"{o.kind:<10} {o.what}; --to {o.example}"]
        lines += [f"{'':10} cannot be used here: {o.unavailable}"] if o.unavailable else []
        lines += [f"{'':10} found: {', '.join(o.found)}"] if o.found else []
    return "\n".join(lines)


def _of(key: str) -> str:
    return "" if key.startswith("speed") else " of a unit"
