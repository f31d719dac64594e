"""Which document it is, and what it says about every finding of a model that it can speak about."""

from collections.abc import Callable, Mapping
from typing import Any

from tapewright.core.diagnosis.evidence import Answer
from tapewright.core.diagnosis.machine_model import Model
from tapewright.core.diagnosis.measured import coil, line, margin, sheet, speed, supply, tape
from tapewright.core.diagnosis.measured.fields import Figure, figure
from tapewright.core.diagnosis.measured.from_errors import answers_from_errors
from tapewright.core.diagnosis.measured.strength import beyond

Document = Mapping[str, Any]

#: format of a document -> the word for it in `measured.in`
KINDS = {
    "tapewright/line/1": "line",
    "tapewright/tape/1": "tape",
    "tapewright/sheet/1": "sheet",
    "tapewright/coil/1": "coil",
    "tapewright/drive/1": "coil",
    "tapewright/margin/1": "margin",
    "tapewright/speed/1": "speed",
    "tapewright/supply/1": "supply",
}
RULES: dict[str, Mapping[str, Callable[[str, Document], Answer | None]]] = {
    "line": line.RULES, "tape": tape.RULES, "coil": coil.RULES, "sheet": {}, "margin": margin.RULES,
    "speed": speed.RULES, "supply": supply.RULES,
}  # fmt: skip
#: kind -> whether the speed is known well enough for what needs it; other kinds do not stand on a speed
SPEED_IS_KNOWN: dict[str, Callable[[Document], bool]] = {"line": line.unit_is_known, "margin": margin.speed_is_proven}
#: Where the recorded errors of sent against received stand.
ERRORS = {"line": "errors", "tape": "strips.0.errors"}
#: Where a document keeps the speed that it proves. A supply's is not: it was reached with another voltage.
PROVES = {"line": "speed.error_percent", "speed": "error_percent"}
#: Timing is not judged before this is on record.
SPEED_GATE = "speed proven"


def is_document(table: Mapping[str, Any]) -> bool:
    """Say whether a table is a result document this module can read."""
    return table.get("format") in KINDS


def answers_from(document: Document, model: Model) -> list[Answer]:
    """Give what the document says; findings it cannot speak about are left out: not examined."""
    kind = KINDS[str(document["format"])]
    known = SPEED_IS_KNOWN.get(kind)
    timing_counts = known is None or known(document)
    out = []
    for finding in model.findings.values():
        needs_speed = SPEED_GATE in model.tests[finding.test].needs if finding.test in model.tests else False
        for way in finding.measured:
            if way.get("in") == kind and (timing_counts or not needs_speed):
                answer = _apply(finding.name, way, document, kind)
                out += [] if answer is None else [answer]
    if kind in ERRORS:
        out += answers_from_errors(document, ERRORS[kind], kind)
    return [answer for answer in out if answer.finding in model.findings]


def proves_speed(document: Document, model: Model) -> bool:
    """Say whether a document shows a speed that is measured, not doubted, and where it should be."""
    kind = KINDS[str(document["format"])]
    if kind not in PROVES or figure(document, PROVES[kind]) is None:
        return False
    answers = {answer.finding: answer.state for answer in answers_from(document, model)}
    return all(answers.get(name, "absent") == "absent" for name in ("unit-too-long", "unit-too-short"))


def _apply(finding: str, way: Mapping[str, object], document: Document, kind: str) -> Answer | None:
    words, suspected, name = way.get("words"), way.get("suspicion"), way.get("rule")
    if kind == "sheet" and isinstance(words, list):
        return sheet.requirement(finding, document, [str(w) for w in words], str(way.get("side")))
    if isinstance(suspected, list):
        return line.suspicion(finding, document, [str(word) for word in suspected])
    if isinstance(name, str):
        return RULES[kind][name](finding, document)
    found = figure(document, str(way.get("value", "")))
    return None if found is None else _against_mark(finding, way, found)


def _against_mark(finding: str, way: Mapping[str, object], found: Figure) -> Answer:
    """Judge one figure against the mark in the model: above, below, or beyond on either side."""
    path = str(way["value"]).removeprefix("strips.0.").replace(".", " ")
    what = path.replace("_percent", "").replace("_mm", "").replace("_ms", "").replace("_", " ")
    how = f"{what} {found}"
    for key, above in (("above", True), ("below", False)):
        if key in way:
            return beyond(finding, found, float(str(way[key])), how, above=above)
    size = Figure(abs(found.value), found.u, found.unit)
    return beyond(finding, size, float(str(way["beyond"])), how, above=True)
