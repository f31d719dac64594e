"""What the book holds in words: adjustments, observations, records, electrical checks, cautions.

What measured, and how far it can be trusted: from the evidence itself, and from what is written beside it.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from tapewright.book.entry import Entry
from tapewright.proof.document import Caution, DeadCheck, Instrument, Said, Work
from tapewright.proof.lines import Evidence, of_kind
from tapewright.proof.plain import first_words, mapping, number, reading, spoken, words

#: which of a record -> how the proof heads it
RECORDS = {"start": "what we knew at the start", "end": "what we know at the end"}
NOT_SAID = "not said what"


def work_of(lines: Sequence[Entry]) -> tuple[Work, ...]:
    """Return the adjustments, oldest first."""
    return tuple(_work(line) for line in of_kind(lines, "adjustment"))


def _work(line: Entry) -> Work:
    body, unit = line.new.body, words(line.new.body.get("unit"))
    before, after = (f"{said} {unit}".strip() if (said := words(body.get(k))) else "" for k in ("before", "after"))
    what = first_words(body, "what") or NOT_SAID
    return Work(what, before, after, words(body.get("why")), line.new.by, line.at, line.number)


def observations_of(evidence: Sequence[Evidence]) -> tuple[Said, ...]:
    """Return what was observed, with the phase it belongs to."""
    seen = [(e, first_words(e.body, "says", "note")) for e in evidence if e.sort == "observation"]
    return tuple(
        Said(e.phase or "phase not said", text, e.entry.new.by, e.entry.at, e.entry.number) for e, text in seen if text
    )


def records_of(lines: Sequence[Entry]) -> tuple[Said, ...]:
    """Return the start and end records."""
    said = [
        (RECORDS.get(words(line.new.body.get("which")), "record"), words(line.new.body.get("text")), line)
        for line in of_kind(lines, "record")
    ]
    return tuple(Said(head, text, line.new.by, line.at, line.number) for head, text, line in said if text)


def dead_checks_of(lines: Sequence[Entry]) -> tuple[DeadCheck, ...]:
    """Return the electrical checks of the dead machine, as they were written."""
    return tuple(_dead_check(line) for line in of_kind(lines, "electrical check"))


def _dead_check(line: Entry) -> DeadCheck:
    body = line.new.body
    at_volts = words(body.get("at_volts"))
    reading = f"{words(body.get('reading'))} {words(body.get('unit'))}".strip()
    return DeadCheck(
        words(body.get("between")) or NOT_SAID,
        reading + (f" at {at_volts} V" if at_volts else ""),
        first_words(body, "limit"),
        words(body.get("verdict")),
        first_words(body, "instrument"),
        line.new.by,
        line.at,
        line.number,
    )


def cautions_of(lines: Sequence[Entry]) -> tuple[Caution, ...]:
    """Return the cautions that were read and taken on."""
    said = [
        (words(line.new.body.get("caution")), line)
        for line in of_kind(lines, "caution")
        if line.new.body.get("acknowledged") is not False
    ]
    return tuple(Caution(text, line.new.by, line.at) for text, line in said if text)


NOT_NAMED = "not named in the book"


def instruments_of(evidence: Sequence[Evidence]) -> tuple[Instrument, ...]:
    """Return each instrument once, with its doubt, what it was used for, and the lines of the book."""
    used: dict[tuple[str, str, str], list[int]] = {}
    for one in evidence:
        name = words(one.body.get("instrument")) or NOT_NAMED
        for doubt in dict.fromkeys(_doubts(one)):
            used.setdefault((name, doubt, one.sort), []).append(one.entry.number)
    return tuple(Instrument(name, doubt, sort, tuple(lines)) for (name, doubt, sort), lines in used.items())


def _doubts(evidence: Evidence) -> Iterator[str]:
    source = mapping(evidence.result.get("source"))
    yield DOUBTS.get(evidence.sort, _other)(evidence, source)


def _line(evidence: Evidence, source: Mapping[str, Any]) -> str:
    rate = number(source.get("rate_hz"))
    step = "a list of changes: its step in time is not on record"
    if rate and rate > 0:
        # u of a step is step/sqrt(12), a rectangular doubt (JCGM 100:2008, 4.3.7); shown is U = 2u
        doubt_ms = 2e3 / rate / 12**0.5
        step = f"{rate:,.10g} samples a second: by the step alone an instant is known to ± {doubt_ms:.2g} ms"
    ppm = number(mapping(mapping(evidence.body.get("steps")).get("settings")).get("clock_ppm"))
    clock = f"clock within {ppm:g} ppm, as stated" if ppm else "its clock was taken as right: its doubt is not stated"
    return f"{step}; {clock}"


def _tape(evidence: Evidence, _: Mapping[str, Any]) -> str:
    scale = mapping(evidence.result.get("scale"))
    px = reading(scale.get("px_per_mm"))
    if px is None:
        return "the scale of the picture is not known"
    from_ = words(scale.get("from")) or "a source not on record"
    share = 100 * (px.expanded or 0.0) / px.value if px.value and px.expanded else None
    return f"scale {spoken(px)}, from the {from_}" + (f": every length within ± {share:.2g} %" if share else "")


def _gauge(_: Evidence, __: Mapping[str, Any]) -> str:
    return "gauge by gauge; each reading carries its own doubt in the requirements"


def _figures(_: Evidence, __: Mapping[str, Any]) -> str:
    return "each figure carries its own doubt"


def _other(_: Evidence, __: Mapping[str, Any]) -> str:
    return "no doubt is stated"


#: sort of evidence -> how far what measured it can be trusted
DOUBTS: Mapping[str, Callable[[Evidence, Mapping[str, Any]], str]] = {
    "line": _line,
    "tape": _tape,
    "gauge": _gauge,
    "coil": _line,
    "margin": _figures,
    "speed": _figures,
    "supply": _figures,
}
