"""What happens on a watched line as JSON lines, tapewright/watch/1: one object a line, `kind` says which."""

from collections.abc import Callable, Mapping
from typing import Any

from tapewright.furniture.json_values import measured
from tapewright.line.document import LineResult
from tapewright.line.live.events import Broke, Compared, Event, Figures, Learned, Learning, Lost, Marked, Struck, Typed
from tapewright.line.live.needles import Needle
from tapewright.recordings.live.source import LiveSource, SourceOnOffer

FORMAT = "tapewright/watch/1"


def source_line(source: LiveSource) -> dict[str, Any]:
    """Say what is being watched."""
    return {
        "format": FORMAT,
        "kind": "source",
        "source": source.what,
        "rate_hz": source.rate_hz,
        "instrument": [
            {"suspicion": s.suspicion, "evidence": s.evidence, "do": s.do} for s in source.suspicions
        ],
    }


def offer_document(offers: tuple[SourceOnOffer, ...], silent: str = "") -> dict[str, Any]:
    """Say which sources there are, and whether anything can be spoken; `silent` says why not."""
    return {
        "format": "tapewright/sources/1",
        "sources": [
            {
                "source": o.kind,
                "what": o.what,
                "example": o.example,
                "found": list(o.found),
                "available": not o.unavailable,
                "why_not": o.unavailable,
            }
            for o in offers
        ],
        "speech": {"available": not silent, "why_not": silent},
    }


def event_line(event: Event, screen_ms: float | None = None) -> dict[str, Any]:
    """Return one event as an object."""
    for kind, (name, body) in _LINES.items():
        if isinstance(event, kind):
            said = {"format": FORMAT, "kind": name, **body(event)}
            if isinstance(event, Struck):
                said["screen_ms"] = screen_ms
            return said
    raise TypeError(f"no line for {event!r}")


def end_line(samples: int, gaps: int, from_what: str, document: Mapping[str, Any]) -> dict[str, Any]:
    """Return the last line: the figures of the whole watch, as `line read` gives them."""
    return {
        "format": FORMAT,
        "kind": "end",
        "samples": samples,
        "gaps": gaps,
        "figures_from": from_what,
        "result": dict(document),
    }


def _learning(event: Learning) -> dict[str, Any]:
    return {"at_s": event.at_s, "what": event.what, "edges": event.edges}


def _learned(event: Learned) -> dict[str, Any]:
    said = [{"suspicion": s.suspicion, "evidence": s.evidence, "do": s.do} for s in event.suspicions]
    return {
        "at_s": event.at_s, "idle": event.idle, "unit_ms": event.unit_ms, "again": event.again, "instrument": said,
    }  # fmt: skip


def _struck(event: Struck) -> dict[str, Any]:
    return {
        "number": event.number,
        "start_s": event.start_s,
        "code": event.code,
        "letter_or_figure": event.shown,
        "text": event.text,
        "unit_ms": measured(event.unit_ms),
        "stop_before_units": event.stop_before_units,
        "stopped": event.stopped,
        "kept_back": event.kept_back,
        "needles": [_needle(n, len(event.code)) for n in event.needles],
    }


def contact_name(contact: int, elements: int) -> str:
    """Name a contact as the contract does."""
    return "stop" if contact > elements else str(contact)


def _needle(needle: Needle, elements: int) -> dict[str, Any]:
    return {
        "contact": contact_name(needle.contact, elements),
        "direction": "closing" if needle.closing else "opening",
        "late_ms": {"value": needle.late_ms, "u": needle.u_ms, "unit": "ms", "n": 1},
        "bounce_ms": needle.bounce_ms,
        "band_ms": None if needle.band_low_ms is None else [needle.band_low_ms, needle.band_high_ms],
        "mean_ms": needle.mean_ms,
        "n": needle.n,
    }


def _typed(event: Typed) -> dict[str, Any]:
    return {"number": event.number, "code": event.code, "letter_or_figure": event.shown, "text": event.text}


def figures_body(result: LineResult) -> dict[str, Any]:
    """Return the running figures: speed, bias and each contact's own lateness with its doubt."""
    speed, distortion = result.speed, result.distortion
    return {
        "unit_ms": measured(speed.unit_ms),
        "baud": measured(speed.baud),
        "error_percent": measured(speed.error_percent),
        "proven": speed.proven,
        "why": speed.why,
        "marking_bias_percent": measured(distortion.marking_bias_percent),
        "end_percent": measured(distortion.end_percent),
        "scatter_percent": measured(distortion.scatter_percent),
        "contacts": [
            {
                "contact": c.contact,
                "closing_late_ms": measured(c.closing_late_ms),
                "opening_late_ms": measured(c.opening_late_ms),
            }
            for c in result.contacts
        ],
    }


def _figures(event: Figures) -> dict[str, Any]:
    return {"at_s": event.at_s, "characters": event.characters, **figures_body(event.result)}


def _marked(event: Marked) -> dict[str, Any]:
    return {
        "at_s": event.at_s, "number": event.number, "label": event.label, "characters_before": event.characters,
    }  # fmt: skip


def compared_body(event: Compared) -> dict[str, Any]:
    """Return what a trial did."""
    return {
        "at_s": event.at_s,
        "number": event.number,
        "label": event.label,
        "characters_before": event.before,
        "characters_after": event.after,
        "changes": [
            {
                "what": c.what,
                "before": measured(c.before),
                "after": measured(c.after),
                "change": measured(c.change),
                "shown": c.shown,
            }
            for c in event.changes
        ],
    }


def _broke(event: Broke) -> dict[str, Any]:
    return {"at_s": event.at_s}


def _lost(event: Lost) -> dict[str, Any]:
    return {"at_s": event.at_s, "seconds": event.seconds, "why": event.why}


#: class of event -> kind of line, and what else stands in it
_LINES: dict[type, tuple[str, Callable[[Any], dict[str, Any]]]] = {
    Learning: ("learning", _learning),
    Learned: ("learned", _learned),
    Struck: ("character", _struck),
    Typed: ("typed", _typed),
    Figures: ("figures", _figures),
    Broke: ("break", _broke),
    Lost: ("lost", _lost),
    Marked: ("trial", _marked),
    Compared: ("compared", compared_body),
}
