"""Findings from result documents: what was measured becomes present, absent or not examined.

fields         a figure in a document, and from a value with its doubt to a likelihood
line, tape     one function per rule, one table of rules; contact_edges for how one contact is off
instruments    the same for coil, receiver, speed, supply and sheet
from_errors    what a comparison of sent and received says, in line and tape alike

What documents of one event say together: line against tape tells which side the fault is on.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from tapewright.advisor.evidence import Answer, no, yes
from tapewright.advisor.machine_model import Model
from tapewright.advisor.measured import instruments, line, tape
from tapewright.advisor.measured.fields import Document, Figure, Rule, at, beyond, figure, number
from tapewright.advisor.measured.from_errors import answers_from_errors

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
RULES: dict[str, Mapping[str, Rule]] = {"line": line.RULES, "tape": tape.RULES, **instruments.RULES}
#: kind -> whether the speed is known well enough for what needs it; other kinds do not stand on a speed
SPEED_IS_KNOWN: dict[str, Callable[[Document], bool]] = {
    "line": line.unit_is_known,
    "margin": instruments.speed_is_proven,
}
#: Where the recorded errors of sent against received stand.
ERRORS = {"line": "errors", "tape": "strips.0.errors"}
#: Where a document keeps the speed that it proves. A supply's is not: it was reached with another voltage.
PROVES = {"line": "speed.error_percent", "speed": "error_percent"}
#: Timing is not judged before this is on record.
SPEED_GATE = "speed proven"


def is_document(table: Document) -> bool:
    """Return whether a table is a result document this module can read."""
    return table.get("format") in KINDS


def answers_from(document: Document, model: Model, recording: str = "") -> list[Answer]:
    """Return what the document says; findings it cannot speak about are left out: not examined.

    Args:
        document: a result document.
        model: the machine.
        recording: what to call it; its sort where there is none.
    """
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
    return [replace(a, recording=recording or kind) for a in out if a.finding in model.findings]


def proves_speed(document: Document, model: Model) -> bool:
    """Return whether a document shows a speed that is measured, not doubted, and where it should be."""
    kind = KINDS[str(document["format"])]
    if kind not in PROVES or figure(document, PROVES[kind]) is None:
        return False
    answers = {answer.finding: answer.state for answer in answers_from(document, model)}
    return all(answers.get(name, "absent") == "absent" for name in ("unit-too-long", "unit-too-short"))


def _apply(finding: str, way: Mapping[str, object], document: Document, kind: str) -> Answer | None:
    words, suspected, name = way.get("words"), way.get("suspicion"), way.get("rule")
    if kind == "sheet" and isinstance(words, list):
        return instruments.requirement(finding, document, [str(w) for w in words], str(way.get("side")))
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


#: What a swept receiver says goes before what is reckoned from the signal for a receiver without a fault of its own.
SWEPT, SWEPT_KIND, RECKONED_KIND = "margin-narrow", "margin", "line"
#: Fewer characters than this prove nothing right.
ENOUGH = 30


def answers_from_all(documents: Sequence[Document], model: Model, names: Sequence[str] = ()) -> list[Answer]:
    """Return what each document says, and what line and tape of one event say together."""
    labels = names or [KINDS[str(document["format"])] for document in documents]
    alone = [answers_from(document, model, label) for document, label in zip(documents, labels, strict=True)]
    return [*(a for found in without_reckoned(documents, alone) for a in found), *together(documents, model)]


def without_reckoned(documents: Sequence[Document], found: Sequence[Sequence[Answer]]) -> list[list[Answer]]:
    """Return the answers of each document without a margin reckoned from the line, where a receiver was swept."""
    kinds = [KINDS[str(document["format"])] for document in documents]
    swept = any(
        a.finding == SWEPT for kind, answers in zip(kinds, found, strict=True) if kind == SWEPT_KIND for a in answers
    )
    return [
        [a for a in answers if not (swept and kind == RECKONED_KIND and a.finding == SWEPT)]
        for kind, answers in zip(kinds, found, strict=True)
    ]


def together(documents: Sequence[Document], model: Model) -> list[Answer]:
    """Return what line and tape of one event say together: which side the fault is on."""
    line_wrong, tape_wrong = (_wrong(documents, kind) for kind in ("line", "tape"))
    if line_wrong is None or tape_wrong is None:
        return []
    how = f"line {line_wrong:g} wrong, tape {tape_wrong:g} wrong"
    out = []
    if line_wrong == 0 and tape_wrong > 0:
        out = [yes("line-right-tape-wrong", how), no("all-outputs-wrong-alike", how)]
    elif (line_wrong > 0) == (tape_wrong > 0):
        out = [no("line-right-tape-wrong", how)]
    return [answer for answer in out if answer.finding in model.findings]


def _wrong(documents: Sequence[Document], kind: str) -> float | None:
    for document in documents:
        if KINDS.get(str(document.get("format"))) == kind:
            errors = at(document, ERRORS[kind])
            sent = number(errors.get("sent")) if isinstance(errors, Mapping) else None
            if sent is not None and sent >= ENOUGH and isinstance(errors, Mapping):
                return number(errors.get("wrong"))
    return None


def not_counted_timing(document: Document, name: str) -> list[str]:
    """Return the note that a document's timing was not counted, because its speed is not proven; empty otherwise."""
    known = SPEED_IS_KNOWN.get(KINDS[str(document["format"])])
    if known is None or known(document):
        return []
    why = at(document, "speed.why")
    reason = f" ({why})" if isinstance(why, str) and why else ""
    return [f"the timing in {name} is not counted, neither for nor against a part: its speed is not proven{reason}"]
