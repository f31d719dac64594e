"""A line result as the contract's document tapewright/line/1."""

from typing import Any

from tapewright.furniture.json_values import judged, measured
from tapewright.line.document import Character, Contact, LineResult
from tapewright.line.read import LineReport
from tapewright.line.receiver import Range, Receiver
from tapewright.message.errors_json import errors
from tapewright.recordings.capture import BEFORE_A_WIRE


def line_document(report: LineReport) -> dict[str, Any]:
    """Return the whole document."""
    result, recording = report.result, report.recording
    speed, distortion = result.speed, result.distortion
    return {
        "format": "tapewright/line/1",
        "source": {
            "file": report.file,
            "sha256": report.sha256,
            "kind": recording.kind,
            "channel": recording.channel,
            "channels": list(recording.channels),
            "other_channels_with_characters": list(report.other_channels),
            "duration_s": recording.edges.end_s - recording.edges.begin_s,
            "samples": recording.samples,
            "rate_hz": recording.rate_hz,
            "clock_ppm": result.settings.clock_ppm,
            "threshold_v": list(recording.threshold_v) if recording.threshold_v else None,
            "idle": result.idle,
            "edges": int(recording.edges.times_s.size),
        },
        "speed": {
            "unit_ms": measured(speed.unit_ms),
            "baud": measured(speed.baud),
            "nominal_baud": speed.nominal_baud,
            "nominal_given": speed.nominal_given,
            "error_percent": measured(speed.error_percent),
            "character_ms": measured(speed.character_ms),
            "stop_units": measured(speed.stop_units),
            "characters_per_minute": measured(speed.characters_per_minute),
            "words_per_minute": measured(speed.words_per_minute),
            "ripple_percent": measured(speed.ripple_percent),
            "ripple_hz": measured(speed.ripple_hz),
            "drift_percent": measured(speed.drift_percent),
            "proven": speed.proven,
            "nominal_proven": speed.nominal_proven,
            "why": speed.why,
        },
        "text": result.text,
        "codes": list(result.codes),
        "characters": [_character(c) for c in result.characters],
        "distortion": {
            "gross_percent": measured(distortion.gross_percent),
            "synchronous_percent": measured(distortion.synchronous_percent),
            "early_percent": measured(distortion.early_percent),
            "late_percent": measured(distortion.late_percent),
            "n": distortion.n,
            "odd": distortion.odd,
            "marking_bias_percent": measured(distortion.marking_bias_percent),
            "end_percent": measured(distortion.end_percent),
            "start_reference_percent": measured(distortion.start_reference_percent),
            "scatter_percent": measured(distortion.scatter_percent),
            "histogram": histogram(result),
        },
        "contacts": [_contact(c) for c in result.contacts],
        "receiver": _receiver(result.receiver),
        "errors": errors(result.errors) if result.errors is not None else None,
        "cautions": [BEFORE_A_WIRE] if result.suspicions else [],
        "instrument": [{"suspicion": s.suspicion, "evidence": s.evidence, "do": s.do} for s in result.suspicions],
        "findings": [{"part": f.part, "what": f.what, "do": f.do} for f in result.findings],
        "verdicts": [judged(v) for v in result.verdicts],
        "notes": list(result.notes),
    }


def _character(character: Character) -> dict[str, Any]:
    return {
        "start_s": character.start_s,
        "code": character.code,
        "letter_or_figure": character.shown,
        "unit_ms": measured(character.unit_ms),
        "stop_units": character.stop_units,
        "notes": list(character.notes),
    }


def _contact(contact: Contact) -> dict[str, Any]:
    closing, opening = contact.closing_late_ms, contact.opening_late_ms
    bounce = None
    if contact.bounce_median_ms is not None:
        bounce = {"median": contact.bounce_median_ms, "max": contact.bounce_max_ms}
    return {
        "contact": contact.contact,
        "closing_late_ms": measured(closing),
        "opening_late_ms": measured(opening),
        "closing_seen": list(contact.closing_seen),
        "opening_seen": list(contact.opening_seen),
        "bounce_ms": bounce,
        "dropouts": contact.dropouts,
        "splits": {"n": contact.splits, "median_ms": contact.split_median_ms},
        "probability_off": contact.off,
        "notes": [r.how for r in (closing, opening) if r.value is None and r.how],
    }


def _receiver(receiver: Receiver | None) -> dict[str, Any] | None:
    if receiver is None:
        return None
    return {
        "window": receiver.window,
        **_range(receiver.overall),
        "unit": "percent of a unit after the middle of the element",
        "per_element": [{"element": n, **_range(r)} for n, r in enumerate(receiver.elements, start=1)],
        "with_added": [
            {"kind": kind, "percent": 100 * size, **_range(range_)} for kind, size, range_ in receiver.with_added
        ],
    }


def _range(range_: Range) -> dict[str, float]:
    return {
        "orientation_low": 100 * range_.low,
        "orientation_high": 100 * range_.high,
        "margin_percent": 100 * range_.margin,
    }


def histogram(result: LineResult) -> dict[str, Any] | None:
    """Count instants by their individual distortion in steps of one per cent of the measured unit."""
    if result.trace is None or result.speed.unit_ms.value is None:
        return None
    import numpy as np

    instants = result.trace.instants
    d = 100 * instants.deviation_units(result.speed.unit_ms.value / 1e3)[~instants.chatter]
    if not d.size:
        return None
    low, high = int(np.floor(d.min())), int(np.floor(d.max())) + 1
    counts, _ = np.histogram(d, bins=np.arange(low, high + 1))
    return {"from_percent": low, "step_percent": 1, "counts": counts.tolist()}
