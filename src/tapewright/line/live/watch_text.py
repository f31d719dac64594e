"""What happens on a watched line as plain lines, for terminals that cannot draw, for pipes and for log files."""

from collections.abc import Callable
from typing import Any

from tapewright.line.live.events import Broke, Compared, Event, Figures, Learned, Learning, Lost, Marked, Struck, Typed
from tapewright.line.live.needles import Needle
from tapewright.line.live.watch_json import contact_name
from tapewright.recordings.live.source import SourceOnOffer

#: changes of a trial that are printed when they are not shown to be any
FEW = 3


def event_text(event: Event) -> str:
    """Return one event as a line or a few; empty for what need not be said in words."""
    for kind, say in _SAY.items():
        if isinstance(event, kind):
            return say(event)
    return ""


def offers_text(offers: tuple[SourceOnOffer, ...], silent: str = "") -> str:
    """List the sources, and the spoken word; what cannot be used with the reason and the remedy."""
    out = []
    for o in offers:
        out.append(f"{o.kind:10} {o.what}")
        out.append(f"{'':10} --from {o.example}" + (f"   found: {', '.join(o.found)}" if o.found else ""))
        if o.unavailable:
            out.append(f"{'':10} cannot be used here: {o.unavailable}")
    out += ["", f"{'--speak':10} {f'cannot be used here: {silent}' if silent else 'spoken words for busy hands'}"]
    return "\n".join(out)


def needle_words(needle: Needle, elements: int) -> str:
    """Say one needle, for example "3 closes +1.52"."""
    name = contact_name(needle.contact, elements)
    bounce = f" (bounces {needle.bounce_ms:.1f})" if needle.bounce_ms >= 1.0 else ""
    return f"{name} {'closes' if needle.closing else 'opens'} {needle.late_ms:+z.2f}{bounce}"


def _learning(event: Learning) -> str:
    if event.what == "levels":
        return f"{event.at_s:8.1f} s  learning the levels: strike a few keys ({event.edges} edges so far)"
    return f"{event.at_s:8.1f} s  learning the speed: strike some eight keys, or give --nominal"


def _learned(event: Learned) -> str:
    again = "it was another speed after all; from the beginning: " if event.again else ""
    lines = [f"{event.at_s:8.1f} s  {again}the line rests {event.idle}, a unit lasts {event.unit_ms:.2f} ms"]
    lines += [f"            instrument: {s.suspicion}: {s.evidence}. {s.do}" for s in event.suspicions]
    return "\n".join(lines)


def _struck(event: Struck) -> str:
    unit = f"{event.unit_ms.value:6.2f} ms" if event.unit_ms.value is not None else "        -"
    needles = "  ".join(needle_words(n, len(event.code)) for n in event.needles)
    stop = "" if event.stopped else "  no stop"
    return f"{event.start_s:8.2f} s  {event.shown:5} {event.code}  unit {unit}  late, ms: {needles}{stop}"


def _typed(event: Typed) -> str:
    return f"{event.number:6}  {event.shown or '?':5} {event.code or 'came broken'}"


def _figures(event: Figures) -> str:
    speed = event.result.speed
    proven = "" if speed.proven else f"; not proven: {speed.why}"
    late = [
        f"contact {c.contact} {way} {r.value:+z.2f} ± {r.expanded or 0:.2f}"
        for c in event.result.contacts
        for way, r in (("closes", c.closing_late_ms), ("opens", c.opening_late_ms))
        if r.value is not None and abs(r.value) > (r.expanded or 0.0)
    ]
    shown = f"; late, ms: {', '.join(late)}" if late else "; no contact is shown to be late or early"
    return f"{event.at_s:8.2f} s  = {event.characters} characters: {speed.baud}, unit {speed.unit_ms}{proven}{shown}"


def trial_words(event: Compared) -> str:
    """Say in a sentence what a trial did."""
    shown = [f"{c.what} {c.before} -> {c.after}" for c in event.changes if c.shown]
    return f"{event.label}: " + ("; ".join(shown) if shown else "nothing is shown to have changed")


def _broke(event: Broke) -> str:
    return f"{event.at_s:8.2f} s  the line went to space and stayed there"


def _lost(event: Lost) -> str:
    long = "" if event.seconds is None else f" for {event.seconds:.2f} s"
    return f"{event.at_s:8.2f} s  the line was not seen{long}: {event.why}"


def _marked(event: Marked) -> str:
    return f"{event.at_s:8.2f} s  -- trial {event.number}: {event.label} (after {event.characters} characters) --"


def _compared(event: Compared) -> str:
    lines = [
        f"{event.at_s:8.2f} s  trial {event.number} ({event.label}), {event.before} characters before and"
        f" {event.after} after:"
    ]
    shown = [c for c in event.changes if c.shown]
    for c in shown:
        lines.append(f"            {c.what}: {c.before} -> {c.after}: changed by {c.change}")
    if not shown:
        lines.append("            nothing is shown to have changed")
        lines += [f"            {c.what}: changed by {c.change}, within its doubt" for c in event.changes[:FEW]]
    return "\n".join(lines)


_SAY: dict[type, Callable[[Any], str]] = {
    Learning: _learning,
    Learned: _learned,
    Struck: _struck,
    Typed: _typed,
    Figures: _figures,
    Broke: _broke,
    Lost: _lost,
    Marked: _marked,
    Compared: _compared,
}
