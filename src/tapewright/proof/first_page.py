"""The first page: four questions of somebody who has to go on with the machine, answered in a mechanic's words.

What was wrong?      the verdicts outside and the findings as found
What does it do now? speed, contacts, tape, characters, as left
How sure is that?    how many verdicts of which kind, on limits of which standing; the bound on wrong characters
What was not shown?  the not shown, the not tested, the doubts
"""

from collections import Counter
from collections.abc import Sequence
from itertools import zip_longest

from tapewright.message import error_rate
from tapewright.number import State
from tapewright.proof.answers import limit_words
from tapewright.proof.document import (
    Answer,
    ErrorCount,
    FirstPage,
    Gap,
    LineFigures,
    OpenPoint,
    Signed,
    StateCounts,
    TapeFigures,
    Withdrawn,
)
from tapewright.proof.lines import Evidence
from tapewright.proof.phases import Chosen
from tapewright.proof.plain import first_words, mappings, reading, spoken, truth

MOST, MOST_GAPS = 6, 14
NAMES = {"line": "On the line", "tape": "On the tape", "soak": "In long runs"}


def first_page(
    found: Sequence[tuple[Chosen, Sequence[Answer]]],
    answers: Sequence[Answer],
    figures: tuple[LineFigures | None, TapeFigures | None],
    coil: Evidence | None,
    errors: Sequence[ErrorCount],
    gaps: Sequence[Gap],
    points: Sequence[OpenPoint],
    record: tuple[Sequence[Withdrawn], Sequence[Signed]] = ((), ()),
) -> FirstPage:
    """Answer the four questions.

    Args:
        found: the evidence as found with its verdicts, sort by sort.
        answers: all verdicts as left.
        figures: line and tape as left.
        coil: the magnet's current as left.
        errors: wrong characters.
        gaps: what was not tested.
        points: what is open.
        record: lines that were withdrawn, and who signed the lines.
    """
    states = Counter(answer.state for answer in answers)
    return FirstPage(
        _cut([_begun(said) for said in _was_wrong(found)], "more in “As found, as left”"),
        tuple(_does_now(answers, figures, coil, errors)),
        (*_how_sure(answers, errors, points), *_of_the_record(*record)),
        tuple(_not_shown(answers, gaps, points)),
        StateCounts(states[State.WITHIN], states[State.OUTSIDE], states[State.NOT_SHOWN]),
    )


def _begun(said: str) -> str:
    """Begin a sentence with a capital; a name that someone wrote otherwise is left alone."""
    return said[:1].upper() + said[1:]


def _cut(said: Sequence[str], where: str) -> tuple[str, ...]:
    """Keep the first few and count the rest."""
    rest = len(said) - MOST
    return tuple(said) if rest <= 0 else (*said[:MOST], f"and {rest} {where}")


def _was_wrong(found: Sequence[tuple[Chosen, Sequence[Answer]]]) -> list[str]:
    shown = [(chosen.evidence, answers) for chosen, answers in found if chosen.evidence is not None]
    if not shown:
        return ["Nothing on record shows the machine as found."]
    by_sort = [
        _found(evidence)
        or [f"{a.check}: {a.read}, limit {limit_words(a)}" for a in answers if a.state is State.OUTSIDE]
        for evidence, answers in shown
    ]
    # the weightiest of each sort first, so that a long list of one does not hide the others
    out = [said for rank in zip_longest(*by_sort) for said in rank if said]
    sorts = ", ".join(evidence.sort for evidence, _ in shown)
    return out or [f"The evidence as found ({sorts}) shows nothing outside its limits."]


def _found(evidence: Evidence) -> list[str]:
    """Return the findings of a line or tape document, in words, and that an armature did not move."""
    out = [
        f"{first_words(f, 'part')}: {first_words(f, 'what')}".strip(": ")
        for f in mappings(evidence.result.get("findings"))
    ]
    strips = mappings(evidence.result.get("strips"))
    out += [first_words(f, "text") for strip in strips for f in mappings(strip.get("findings"))]
    if evidence.sort == "coil" and truth(evidence.result.get("moved")) is False:
        out.append(f"Magnet: the armature did not move in {len(mappings(evidence.result.get('closures')))} closings")
    return [said for said in out if said]


def _does_now(
    answers: Sequence[Answer],
    figures: tuple[LineFigures | None, TapeFigures | None],
    coil: Evidence | None,
    errors: Sequence[ErrorCount],
) -> list[str]:
    line, tape = figures
    out = [_line_now(line)] if line else []
    out += [_tape_now(tape)] if tape else []
    out += [_magnet_now(coil)] if coil else []
    gauges = [a for a in answers if a.id]
    if gauges:
        within = sum(a.state is State.WITHIN for a in gauges)
        out.append(f"Gauges: {within} of {len(gauges)} requirements of the sheet shown within their limits.")
    out += [f"{NAMES[e.sort]}: {e.wrong:,} of {e.n:,} characters came wrong." for e in errors]
    still = [a for a in answers if a.state is State.OUTSIDE]
    if still:
        named = "; ".join(f"{a.check}, {a.read}" for a in still[:MOST])
        more = f"; and {len(still) - MOST} more, see “Open points”" if len(still) > MOST else ""
        out.append(f"Still outside ({len(still)}): {named}{more}.")
    return out or ["Nothing on record shows the machine as left."]


def _line_now(line: LineFigures) -> str:
    facts = dict(line.facts)
    late = [
        (c.contact, way, r)
        for c in line.contacts
        for way, r in (("closes", c.closing), ("opens", c.opening))
        if r is not None and r.value is not None
    ]
    said = f"Line: {facts.get('speed', 'speed not known')}, unit {facts.get('unit', 'not known')}"
    if not late:
        return f"{said}."
    name, way, worst = max(late, key=lambda one: abs(one[2].value or 0.0))
    side = "late" if (worst.value or 0.0) >= 0 else "early"
    amount = spoken(worst.scaled(1.0 if side == "late" else -1.0, worst.unit))
    return f"{said}; the contact most out of place is {name}: it {way} {amount} {side}."


def _tape_now(tape: TapeFigures) -> str:
    facts = dict(tape.facts)
    punched, partial = sum(t.punched for t in tape.tracks), sum(t.partial for t in tape.tracks)
    clean = f"{partial:,} of {punched:,} holes not cut clean{_at_most(partial, punched)}"
    return f"Tape: feed pitch {facts.get('feed pitch', 'not known')}; {clean}."


def _at_most(count: int, of: int) -> str:
    """Say how large the share may be that such a count comes from (Clopper-Pearson, one-sided, 95 %)."""
    return f", a share of at most {100 * error_rate(count, of).upper_95:.2g} % at 95 % confidence" if of else ""


def _magnet_now(coil: Evidence) -> str:
    moved = truth(coil.result.get("moved"))
    if moved is None:
        return "Magnet: its current does not show whether the armature moves."
    landing = reading(coil.result.get("landing_ms"))
    lands = f"; it lands after {spoken(landing)}" if landing is not None and landing.value is not None else ""
    return f"Magnet: the armature moves{lands}." if moved else "Magnet: the armature does not move."


def _of_the_record(withdrawn: Sequence[Withdrawn], signatures: Sequence[Signed]) -> list[str]:
    """Say what was withdrawn, with the verdicts that are in no count by it, and whether the lines are signed."""
    evidence = [each for each in withdrawn if each.kind in ("evidence", "soak", "verdicts")]
    outside, unshown = sum(each.outside for each in evidence), sum(each.unshown for each in evidence)
    out = []
    if evidence:
        gone = f" with {outside} outside and {unshown} not shown" if outside or unshown else ""
        named = "; ".join(str(each) for each in evidence[:3])
        more = f"; and {len(evidence) - 3} more, see “Withdrawn”" if len(evidence) > 3 else ""
        out.append(
            f"Withdrawn, and in no count: {len(evidence)} line{'s' * (len(evidence) != 1)}{gone}: {named}{more}."
        )
    # what is whole and signed by a bench known here stands with the fingerprints
    out += [f"The record: {each.says}." for each in signatures if not (each.whole and each.name)]
    return out


def _how_sure(answers: Sequence[Answer], errors: Sequence[ErrorCount], points: Sequence[OpenPoint]) -> list[str]:
    out = []
    for e in errors:
        stated = f" {e.stated:,} of them are stated by a person: no raw file is kept." if e.stated else ""
        out.append(f"{NAMES[e.sort]}, {e.wrong:,} wrong in {e.n:,} shows fewer than 1 wrong in {e.one_in:,}.{stated}")
    if errors:
        out.append("That is at 95 % confidence, and if errors fall independently of each other.")
    standing = Counter(a.standing or "not stated" for a in answers if a.low is not None or a.high is not None)
    if standing:
        out.append(f"Limits judged by: {'; '.join(f'{n} {word}' for word, n in standing.most_common())}.")
    if answers:
        out.append("Every reading carries its doubt: it is called within or outside only when all of its ± lies there.")
    doubts = [point.what for point in points if point.kind == "instrument"]
    out += [f"Doubt about the instrument: {said.rstrip('.')}." for said in doubts[:2]]
    return out or ["No measurement as left is on record, so nothing can be said."]


def _not_shown(answers: Sequence[Answer], gaps: Sequence[Gap], points: Sequence[OpenPoint]) -> list[str]:
    measured = [a for a in answers if a.state is State.NOT_SHOWN and a.reading]
    out = [f"{a.check}: {a.reading}, limit {limit_words(a)}" for a in measured[:3]]
    if len(measured) > 3:
        out.append(f"and {len(measured) - 3} more that were measured and not shown")
    out.append(_named_gaps(gaps))
    owed = sum(point.kind == "recheck" for point in points)
    if owed:
        out.append(f"{owed} check{'s' if owed > 1 else ''} still owed after changes: see “Open points”.")
    return out


def _named_gaps(gaps: Sequence[Gap]) -> str:
    """Name what was not tested in one sentence, as far as there is room."""
    names = [gap.what.partition(":")[0] for gap in gaps]
    named = "; ".join(names[:MOST_GAPS])
    more = f"; and {len(names) - MOST_GAPS} more" if len(names) > MOST_GAPS else ""
    return f"Not tested: {named}{more}. Why, and what would close it, stands under “Not tested”."
