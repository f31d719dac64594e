"""What measured, and how far it can be trusted: from the evidence itself, and from what is written beside it."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from tapewright.core.proof.document import Instrument
from tapewright.core.proof.lines import Evidence
from tapewright.core.proof.plain import mapping, number, reading, spoken, words

NOT_NAMED = "not named in the book"


def instruments_of(evidence: Sequence[Evidence]) -> tuple[Instrument, ...]:
    """Give each instrument once, with its doubt, what it was used for, and the lines of the book."""
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
    "line": _line, "tape": _tape, "gauge": _gauge, "coil": _line,
    "margin": _figures, "speed": _figures, "supply": _figures,
}  # fmt: skip
