"""Which document it is, and what it says about every finding of a model that it can speak about."""

from collections.abc import Callable, Mapping
from typing import Any

from tapewright.core.diagnosis.evidence import Answer
from tapewright.core.diagnosis.machine_model import Finding, Model
from tapewright.core.diagnosis.measured import coil, line, sheet, tape
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
}
RULES: dict[str, Mapping[str, Callable[[str, Document], Answer | None]]] = {
    "line": line.RULES, "tape": tape.RULES, "coil": coil.RULES, "sheet": {},
}  # fmt: skip
#: Where the recorded errors of sent against received stand.
ERRORS = {"line": "errors", "tape": "strips.0.errors"}
#: Timing is not judged before this is on record.
SPEED_GATE = "speed proven"


def is_document(table: Mapping[str, Any]) -> bool:
    """Say whether a table is a result document this module can read."""
    return table.get("format") in KINDS


def answers_from(document: Document, model: Model) -> list[Answer]:
    """Give what the document says; findings it cannot speak about are left out: not examined."""
    kind = KINDS[str(document["format"])]
    timing_counts = kind != "line" or line.unit_is_known(document)
    out = []
    for finding in model.findings.values():
        needs_speed = SPEED_GATE in model.tests[finding.test].needs if finding.test in model.tests else False
        if finding.measured.get("in") == kind and (timing_counts or not needs_speed):
            answer = _apply(finding, document, kind)
            if answer is not None:
                out.append(answer)
    if kind in ERRORS:
        out += answers_from_errors(document, ERRORS[kind], kind)
    return [answer for answer in out if answer.finding in model.findings]


def proves_speed(document: Document, model: Model) -> bool:
    """Say whether a line document shows a speed that is measured and where it should be."""
    if KINDS[str(document["format"])] != "line" or figure(document, "speed.error_percent") is None:
        return False
    answers = {answer.finding: answer.state for answer in answers_from(document, model)}
    return all(answers.get(name, "absent") == "absent" for name in ("unit-too-long", "unit-too-short"))


def _apply(finding: Finding, document: Document, kind: str) -> Answer | None:
    rule = finding.measured
    words = rule.get("words")
    if kind == "sheet" and isinstance(words, list):
        return sheet.requirement(finding.name, document, [str(w) for w in words], str(rule.get("side")))
    suspected = rule.get("suspicion")
    if isinstance(suspected, list):
        return line.suspicion(finding.name, document, [str(word) for word in suspected])
    name = rule.get("rule")
    if isinstance(name, str):
        return RULES[kind][name](finding.name, document)
    found = figure(document, str(rule.get("value", "")))
    return None if found is None else _against_mark(finding, found)


def _against_mark(finding: Finding, found: Figure) -> Answer:
    """Judge one figure against the mark in the model: above, below, or beyond on either side."""
    path = str(finding.measured["value"]).removeprefix("strips.0.").replace(".", " ")
    what = path.replace("_percent", "").replace("_mm", "").replace("_ms", "").replace("_", " ")
    how = f"{what} {found}"
    for key, above in (("above", True), ("below", False)):
        if key in finding.measured:
            return beyond(finding.name, found, float(str(finding.measured[key])), how, above=above)
    size = Figure(abs(found.value), found.u, found.unit)
    return beyond(finding.name, size, float(str(finding.measured["beyond"])), how, above=True)
