"""Verdicts of result documents as the answers of the proof: gauges by requirement, line, tape and coil by check.

A requirement without a reading as left is not shown, whatever was measured before: what was measured before is said in
the reason, for somebody may have moved the thing since.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from msgspec.structs import replace

from tapewright.book.entry import Entry
from tapewright.number import Reading, State
from tapewright.number.reading import decimals_for
from tapewright.proof.document import Answer
from tapewright.proof.lines import Evidence, of_kind
from tapewright.proof.phases import Chosen
from tapewright.proof.plain import first_words, mapping, mappings, number, spoken, state, words


def answers_of(evidence: Evidence, lines: Sequence[Entry] = ()) -> tuple[Answer, ...]:
    """Return every verdict of one result document; newer verdicts on the same evidence stand before its own.

    Their line is that of the measurement, whenever it was judged: a later judging does not make it younger.
    """
    measured = evidence.entry.number
    if evidence.sort == "gauge":
        made = [_requirement(r, measured) for r in mappings(evidence.result.get("requirements"))]
        judged = evidence.line
    else:
        judged, verdicts = _judged_again(evidence, lines) or (evidence.line, mappings(evidence.result.get("verdicts")))
        made = [_answer(v, evidence.sort, "", _value_words(v), measured) for v in verdicts]
    if judged == measured:
        return tuple(made)
    return tuple(replace(a, why=f"{a.why}; judged again in line {judged} of the book") for a in made)


def _judged_again(evidence: Evidence, lines: Sequence[Entry]) -> tuple[int, list[Mapping[str, Any]]] | None:
    """Find verdicts that rest on this evidence and came without a whole result."""
    again = [line for line in of_kind(lines, "verdicts") if evidence.entry.key in line.new.rests_on]
    verdicts = mappings(again[-1].new.body.get("verdicts")) if again and again[-1].number != evidence.line else []
    return (again[-1].number, verdicts) if verdicts else None


def requirements_as_left(gauges: Sequence[Evidence], left: Chosen) -> tuple[Answer, ...]:
    """Return each requirement from the evidence as left, each with its newest reading.

    Several pieces of evidence as left add up; a requirement that only they do not hold takes its line from the newest
    sheet that names it, without an answer.
    """
    if left.evidence is None:
        return tuple(_unanswered(answer) for answer in _newest_by_id(gauges).values())
    same = [e for e in gauges if e.phase == left.evidence.phase and e.entry.number <= left.evidence.entry.number]
    measured = {a.id: a for e in same for a in answers_of(e) if a.reading}
    known = _newest_by_id(gauges)
    before = {a.id: a for e in gauges if e not in same for a in answers_of(e) if a.reading}
    named = list(dict.fromkeys([*(a.id for a in answers_of(left.evidence)), *known]))
    return tuple(measured.get(id_) or _unanswered(known[id_], before.get(id_)) for id_ in named)


WORST = (State.WITHIN, State.NOT_SHOWN, State.OUTSIDE)


def worst_of(evidence: Sequence[Evidence], lines: Sequence[Entry]) -> tuple[Answer, ...]:
    """Return each check once, from the capture or tape it came out worst in; the reason counts the others.

    A fault that one capture shows is not made good by another that does not.
    """
    by_check: dict[str, list[Answer]] = {}
    for one in evidence:
        for answer in answers_of(one, lines):
            by_check.setdefault(answer.check, []).append(answer)
    return tuple(_worst(answers) for answers in by_check.values())


def _worst(answers: Sequence[Answer]) -> Answer:
    worst = max(reversed(answers), key=lambda a: (WORST.index(a.state), abs(a.value or 0.0)))
    if len(answers) == 1:
        return worst
    counts = Counter(a.state.value for a in answers)
    others = ", ".join(f"{n} {state}" for state, n in counts.items())
    return replace(worst, why=f"{worst.why}; the worst of {len(answers)}: {others}")


def outdated(answer: Answer, change: Entry) -> Answer:
    """Return an answer from before a change as not shown: what was measured then says nothing about now."""
    then = f"it read {answer.reading}, {answer.state.value}" if answer.reading else "it was not measured"
    why = f"the machine was changed after it (line {change.number} of the book); before, {then}"
    return replace(answer, state=State.NOT_SHOWN, reading=None, value=None, u=None, why=why)


def _newest_by_id(gauges: Sequence[Evidence]) -> dict[str | None, Answer]:
    return {answer.id: answer for evidence in gauges for answer in answers_of(evidence)}


def _unanswered(answer: Answer, before: Answer | None = None) -> Answer:
    """Return the requirement as not shown, with what was measured before."""
    why = "not measured as left"
    last = before or (answer if answer.reading else None)
    if last is not None:
        why += f"; before that it read {last.reading} ({last.state.value}), line {last.line} of the book"
    return replace(answer, state=State.NOT_SHOWN, reading=None, value=None, u=None, why=why)


def _requirement(requirement: Mapping[str, Any], line: int) -> Answer:
    verdict = mapping(requirement.get("verdict"))
    found = [spoken for r in mappings(requirement.get("readings")) if (spoken := _reading_words(r, verdict))]
    accepted = words(requirement.get("accepted"))
    answer = _answer(
        verdict, words(requirement.get("station")) or "gauge", words(requirement.get("id")), "; ".join(found), line
    )
    if not accepted:
        return answer
    why = f"{answer.why}; taken as it is by the owner, who wrote: “{accepted}”"
    return replace(answer, why=why)


def _answer(verdict: Mapping[str, Any], group: str, id_: str, reading: str, line: int) -> Answer:
    low, high = number(verdict.get("low")), number(verdict.get("high"))
    u = number(verdict.get("u"))
    return Answer(
        group,
        id_ or None,
        words(verdict.get("check")) or id_ or "unnamed check",
        state(verdict.get("state")),
        reading or None,
        number(verdict.get("value")),
        abs(u) if u is not None else None,
        low,
        high,
        words(verdict.get("unit")),
        words(verdict.get("source")),
        words(verdict.get("standing")),
        words(verdict.get("why")),
        line,
    )


def _value_words(verdict: Mapping[str, Any]) -> str:
    value, u = number(verdict.get("value")), number(verdict.get("u"))
    if value is None:
        return ""
    return spoken(Reading(value, abs(u) if u is not None else None, words(verdict.get("unit"))))


def _reading_words(found: Mapping[str, Any], verdict: Mapping[str, Any]) -> str:
    """Say one reading of a sheet document: a number, an interval of two gauges, or what the eye said."""
    place = first_words(found, "position")
    unit = words(verdict.get("unit"))
    measured, ends, eye = mapping(found.get("number")), found.get("interval"), found.get("by_eye")
    said = ""
    if number(measured.get("value")) is not None:
        said = _value_words({"unit": unit, **measured})
    elif isinstance(ends, list | tuple) and len(ends) == 2:
        said = _between(number(ends[0]), number(ends[1]), unit)
    elif isinstance(eye, bool):
        said = "yes" if eye else "no"
    return f"{place} {said}".strip() if said else ""


def _between(low: float | None, high: float | None, unit: str) -> str:
    if low is None:
        return "" if high is None else f"under {high:g} {unit}"
    return f"over {low:g} {unit}" if high is None else f"{low:g} to {high:g} {unit}"


def limit_words(answer: Answer) -> str:
    """Write a limit as a mechanic says it."""
    unit = "%" if answer.unit == "percent" else answer.unit
    low, high = ("" if end is None else f"{end:g}".replace("-", "−") for end in (answer.low, answer.high))
    if answer.unit == "yes":
        return "yes"
    if not low and not high:
        return "no limit known"
    return f"{low} to {high} {unit}" if low and high else f"at least {low} {unit}" if low else f"at most {high} {unit}"


def doubt_words(answer: Answer) -> str:
    """Write the expanded uncertainty U = 2u alone, empty when it is not known."""
    expanded = None if answer.u is None else 2 * answer.u
    return f"{expanded:.{decimals_for(expanded)}f}" if expanded else ""
