"""What is open on a machine: owed rechecks, what is outside, findings, suspicions of the instrument, odd lines."""

from collections.abc import Iterator, Sequence

from tapewright.book.entry import Entry
from tapewright.book.kinds import SORTS
from tapewright.book.standing import may_withdraw, still_owed
from tapewright.number import State
from tapewright.proof.answers import limit_words
from tapewright.proof.document import Answer, OpenPoint
from tapewright.proof.lines import Evidence, of_kind
from tapewright.proof.phases import changes_after
from tapewright.proof.plain import each, first_words, mapping, mappings, truth, words

#: kind of open point -> how it is headed
HEADS: dict[str, str] = {
    "outside": "Outside its limit",
    "not shown": "Measured, and not shown",
    "recheck": "To be measured again",
    "finding": "Found, not settled",
    "instrument": "Doubt about the instrument",
    "unexplained": "Not explained",
    "book": "In the book, and not usable here",
}


def open_points(
    answers: Sequence[Answer], documents: Sequence[Evidence], evidence: Sequence[Evidence], lines: Sequence[Entry]
) -> tuple[OpenPoint, ...]:
    """Return every open point, in the order of `HEADS`.

    Args:
        answers: the verdicts as left.
        documents: the evidence that speaks for the machine as it now is.
        evidence: all evidence.
        lines: all lines that stand.
    """
    found = [*_answers(answers), *_rechecks(documents, lines)]
    for document in documents:
        found += [*_findings(document), *_instrument(document), *_unexplained(document)]
    found += [*_unreadable(evidence), *_not_withdrawn(lines)]
    order = list(HEADS)
    return tuple(dict.fromkeys(sorted(found, key=lambda point: order.index(point.kind))))


def _answers(answers: Sequence[Answer]) -> Iterator[OpenPoint]:
    for answer in answers:
        if answer.state is State.WITHIN or not answer.reading:
            continue
        kind = "outside" if answer.state is State.OUTSIDE else "not shown"
        what = f"{answer.check}: {answer.reading}; limit {limit_words(answer)}"
        yield OpenPoint(kind, what, answer.why, answer.line)


def _rechecks(documents: Sequence[Evidence], lines: Sequence[Entry]) -> Iterator[OpenPoint]:
    for line in still_owed(of_kind(lines, "recheck")):
        what, because = (first_words(line.new.body, field) for field in ("what", "because"))
        yield OpenPoint("recheck", what or "not said what", because, line.number)
    for document in documents:
        for owed in mappings(document.result.get("recheck_open")):
            because = ", ".join(words(id_) for id_ in each(owed.get("because")))
            yield OpenPoint("recheck", words(owed.get("id")), f"changed since: {because}", document.entry.number)
        for change in changes_after(lines, document.entry):
            what = first_words(change.new.body, "what") or "a change"
            yield OpenPoint(
                "recheck",
                f"{document.sort} evidence of line {document.entry.number}",
                f"the machine was changed after it: {what}",
                change.number,
            )


def _findings(evidence: Evidence) -> Iterator[OpenPoint]:
    for finding in mappings(evidence.result.get("findings")):
        what = ": ".join(w for w in (first_words(finding, "part"), first_words(finding, "what")) if w)
        yield OpenPoint("finding", what or "not said what", first_words(finding, "do"), evidence.entry.number)
    for strip in mappings(evidence.result.get("strips")):
        for finding in mappings(strip.get("findings")):
            what = first_words(finding, "text") or "not said what"
            yield OpenPoint("finding", what, first_words(finding, "station"), evidence.entry.number)


def _instrument(evidence: Evidence) -> Iterator[OpenPoint]:
    line = evidence.entry.number
    for doubt in mappings(evidence.result.get("instrument")):
        why = "; ".join(w for w in (first_words(doubt, "evidence"), first_words(doubt, "do")) if w)
        yield OpenPoint("instrument", first_words(doubt, "suspicion") or "not said what", why, line)
    for said in each(evidence.result.get("suspicions")):
        if words(said):
            yield OpenPoint("instrument", words(said), "", line)
    speed = mapping(evidence.result.get("speed"))
    if truth(speed.get("proven")) is False:
        yield OpenPoint("instrument", "The speed is not proven: no timing was judged", first_words(speed, "why"), line)


def _unexplained(evidence: Evidence) -> Iterator[OpenPoint]:
    for said in each(evidence.result.get("unexplained")):
        what = words(said) or first_words(mapping(said), "says", "finding")
        yield OpenPoint("unexplained", what or "not said what", "", evidence.entry.number)


def _not_withdrawn(lines: Sequence[Entry]) -> Iterator[OpenPoint]:
    """Return the lines that would withdraw one that they may not: both stand."""
    by_key = {line.key: line for line in lines}
    for line in lines:
        old = by_key.get(line.new.replaces or "")
        if old is not None and not may_withdraw(line.new, old.new):
            yield OpenPoint(
                "book",
                f"line {line.number} ({line.new.kind}) would withdraw line {old.number} ({old.new.kind})",
                "only a line of the same kind and sort may: both stand",
                line.number,
            )


def _unreadable(evidence: Sequence[Evidence]) -> Iterator[OpenPoint]:
    for one in evidence:
        if not one.readable:
            wanted = SORTS.get(one.sort, "one of " + ", ".join(SORTS.values()))
            found = words(one.result.get("format")) or "none"
            yield OpenPoint(
                "book",
                f"line {one.entry.number}, evidence of sort {one.sort or 'not said'}",
                f"expected a result document {wanted}; found {found}",
                one.entry.number,
            )
