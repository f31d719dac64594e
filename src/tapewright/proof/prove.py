"""From a machine's lines in the book to its proof, in the order of the pages.

    lines > evidence > as found, as left > answers > figures > counts > plan > gaps > open points > first page > trail

No clock is read: the date of the proof is that of the newest line, so that the same book gives the same proof.
"""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any, TypeVar

from tapewright.alphabets import ALPHABETS, ITA2
from tapewright.book.chains import look_at_chains
from tapewright.book.entry import Entry
from tapewright.book.in_words import verdicts_of
from tapewright.book.kinds import NOT_THE_MACHINE, SORTS
from tapewright.book.standing import standing, withdrawn
from tapewright.book.timeline import in_short
from tapewright.number import Reading
from tapewright.proof.answers import answers_of, outdated, requirements_as_left, worst_of
from tapewright.proof.document import (
    Answer,
    Identity,
    LineFigures,
    Phase,
    Plan,
    ProofDocument,
    Signed,
    TapeFigures,
    Withdrawn,
)
from tapewright.proof.error_counts import error_counts, soaks_of
from tapewright.proof.figures import line_figures, tape_figures
from tapewright.proof.first_page import first_page
from tapewright.proof.gaps import gaps_of
from tapewright.proof.in_words import cautions_of, dead_checks_of, instruments_of, observations_of, records_of, work_of
from tapewright.proof.lines import AS_FOUND, AS_LEFT, Evidence, evidence_of, of_kind
from tapewright.proof.open_points import open_points
from tapewright.proof.phases import Chosen, as_found, as_left, changes_after, speaks_for_now
from tapewright.proof.plain import each, mapping, mappings, number, reading, truth, words
from tapewright.proof.plan import Pace, make_plan, pace_from
from tapewright.proof.quantities import Quantity, compare_phases
from tapewright.proof.trail import trail_of

#: sorts of evidence that say something about the machine, and those of them that carry verdicts beside the gauges
OF_THE_MACHINE = tuple(sort for sort in SORTS if sort not in NOT_THE_MACHINE)
JUDGED = ("line", "tape", "coil", "margin", "speed", "supply")
#: Nominal speed that is taken when the book says none; the plan says so.
USUAL_BAUD = 1 / 0.022
#: fields of an identity and of an intake, in the order of the page: (field, word)
IDENTITY_FACTS = (
    ("model", "model"),
    ("serial", "serial number"),
    ("alphabet", "alphabet"),
    ("nominal_baud", "nominal speed, baud"),
    ("modules", "modules"),
    ("variants", "variants"),
    ("owner", "owner"),
    ("place", "place"),
    ("note", "note"),
)
INTAKE_FACTS = (
    ("state", "came"),
    ("came_from", "came from"),
    ("brought_by", "brought by"),
    ("last_ran", "last ran"),
    ("supply", "its plate says"),
    ("hazards", "hazards"),
    ("missing", "missing"),
    ("damage", "damage"),
    ("note", "note"),
)


def prove(
    name: str,
    key: str,
    entries: Sequence[Entry],
    pattern_lengths: Mapping[str, Mapping[str, int]],
    one_in: int = 1000,
    known: Mapping[str, str] = MappingProxyType({}),
) -> ProofDocument:
    """Make the proof.

    Args:
        name: of the machine.
        key: of the machine, the same in every book.
        entries: all lines about it, in any order; at least one.
        pattern_lengths: alphabet -> test pattern -> characters once through.
        one_in: the claim the plan aims at: fewer than 1 wrong character in so many.
        known: benches known here: public key -> name.

    Raises:
        ValueError: without a single line, or for a claim of fewer than 1 in 2.
    """
    if not entries:
        raise ValueError("a proof needs at least one line of the book")
    lines, gone = standing(entries), _withdrawn(entries)
    signatures = _signatures(entries, known)
    evidence = evidence_of(lines)
    found = {sort: as_found(evidence, sort) for sort in OF_THE_MACHINE}
    left = {sort: as_left(evidence, lines, sort) for sort in OF_THE_MACHINE}
    now = speaks_for_now(evidence, lines)
    answers = all_answers(evidence, left, lines)
    soaks = soaks_of(lines)
    errors = error_counts(now, soaks)
    plan = plan_of(name, lines, left, now, pattern_lengths, one_in)
    gaps = gaps_of(plan, answers, now, soaks, lines)
    points = open_points(answers, _documents(left, now), evidence, lines)
    line_now, tape_now = line_figures(left["line"], AS_LEFT), tape_figures(left["tape"], AS_LEFT)
    found_answers = [(found[s], answers_of(e, lines) if (e := found[s].evidence) else ()) for s in OF_THE_MACHINE]
    newest = max(entries, key=lambda e: (e.at, e.number))
    return ProofDocument(
        identity=_identity(name, key, lines),
        as_of=newest.at,
        newest=newest.key,
        program=newest.program,
        first_page=first_page(
            found_answers,
            answers,
            (line_now, tape_now),
            left["coil"].evidence,
            errors,
            gaps,
            points,
            (gone, signatures),
        ),
        phases=(*_phases(found, left), *_withdrawn_phases(gone)),
        compared=compare_phases([(found[s], left[s]) for s in OF_THE_MACHINE], lines, _gauge_quantities(answers), now),
        work=work_of(lines),
        answers=answers,
        line=_sides(line_figures(found["line"], AS_FOUND), line_now),
        tape=_sides(tape_figures(found["tape"], AS_FOUND), tape_now),
        errors=errors,
        soaks=soaks,
        observations=observations_of(evidence),
        records=records_of(lines),
        dead_checks=dead_checks_of(lines),
        instruments=instruments_of([e for e in evidence if e.readable]),
        plan=plan,
        not_tested=gaps,
        open_points=points,
        cautions=cautions_of(lines),
        trail=trail_of(sorted(entries, key=lambda e: e.number), name),
        withdrawn=gone,
        signatures=signatures,
    )


def _withdrawn(entries: Sequence[Entry]) -> tuple[Withdrawn, ...]:
    """Return the lines that were withdrawn, with the verdicts that are gone by it."""
    out = []
    for one in withdrawn(entries):
        body, evidence = one.line.new.body, one.line.new.kind == "evidence"
        states = [words(v.get("state")) for v in verdicts_of(mapping(body.get("result")))] if evidence else []
        out.append(
            Withdrawn(
                line=one.line.number,
                key=one.line.key,
                kind=one.line.new.kind,
                sort=(words(body.get("sort")) or None) if evidence else None,
                phase=(words(body.get("phase")) or None) if evidence else None,
                says=in_short(one.line.new),
                outside=states.count("outside"),
                unshown=states.count("not shown"),
                at=one.by.at,
                by=one.by.new.by,
                because=one.by.new.reason,
                replaced_by=one.by.number,
            )
        )
    return tuple(out)


def _withdrawn_phases(gone: Sequence[Withdrawn]) -> tuple[Phase, ...]:
    """Return what a reader of as found beside as left must know: evidence of either side that was withdrawn."""
    return tuple(Phase(one.sort, one.phase, str(one)) for one in gone if one.sort and one.phase in (AS_FOUND, AS_LEFT))


def _signatures(entries: Sequence[Entry], known: Mapping[str, str]) -> tuple[Signed, ...]:
    return tuple(
        Signed(
            c.bench or None, c.name or None, c.lines, bool(c.bench) and not c.faults, "; ".join((str(c), *c.remarks))
        )
        for c in look_at_chains(entries, known)
    )


def all_answers(evidence: Sequence[Evidence], left: Mapping[str, Chosen], lines: Sequence[Entry]) -> tuple[Answer, ...]:
    """Return all verdicts as left: the sheet's requirements first, then those of each other sort."""
    gauges = [e for e in evidence if e.sort == "gauge" and e.readable]
    out = [_up_to_date(answer, lines) for answer in requirements_as_left(gauges, left["gauge"])]
    now = speaks_for_now(evidence, lines)
    for sort in JUDGED:
        chosen = left[sort].evidence
        here = [e for e in now if e.sort == sort] or ([chosen] if chosen else [])
        changes = changes_after(lines, here[-1].entry) if here else ()
        out += [outdated(a, changes[-1]) if changes else a for a in worst_of(here, lines)]
    return tuple(out)


def _up_to_date(answer: Answer, lines: Sequence[Entry]) -> Answer:
    """Take back a gauge's answer when what it stands on was changed afterwards.

    A change that names what must be checked again takes back those requirements alone, any other takes back all.
    """
    for change in of_kind(lines, "adjustment"):
        named = set(map(words, each(change.new.body.get("recheck"))))
        if change.number > answer.line and answer.reading and (not named or answer.id in named):
            return outdated(answer, change)
    return answer


def plan_of(
    name: str,
    lines: Sequence[Entry],
    left: Mapping[str, Chosen],
    now: Sequence[Evidence],
    pattern_lengths: Mapping[str, Mapping[str, int]],
    one_in: int,
) -> Plan:
    """Work out the test plan at the machine's own pace."""
    pace = pace_of(name, lines, left)
    return make_plan(pace, pattern_lengths[pace.alphabet_key], now, one_in)


def pace_of(name: str, lines: Sequence[Entry], left: Mapping[str, Chosen]) -> Pace:
    """Find alphabet, speed and pitch: measured as left where they are proven, else by the identity."""
    identity = _newest_identity(lines)
    alphabet_key = words(identity.get("alphabet")).lower()
    baud = number(identity.get("nominal_baud"))
    line = left["line"].evidence
    speed = mapping(line.result.get("speed")) if line else {}
    proven = truth(speed.get("proven")) is True
    nominal = baud if baud and baud > 0 else number(speed.get("nominal_baud")) if proven else None
    tape = left["tape"].evidence
    strips = mappings(tape.result.get("strips")) if tape else []
    pitch = reading(mapping(strips[0].get("feed")).get("pitch_mm")) if strips else None
    character = reading(speed.get("character_ms")) if proven else None
    return pace_from(
        name,
        alphabet_key if alphabet_key in ALPHABETS else "ita2",
        ALPHABETS.get(alphabet_key, ITA2),
        nominal or USUAL_BAUD,
        "" if nominal else "no speed is written down; ",
        character if character and (character.value or 0) > 0 else None,
        pitch if pitch and (pitch.value or 0) > 0 else None,
    )


def _newest_identity(lines: Sequence[Entry]) -> Mapping[str, Any]:
    identities = of_kind(lines, "identity")
    return identities[-1].new.body if identities else {}


def _identity(name: str, key: str, lines: Sequence[Entry]) -> Identity:
    intakes = of_kind(lines, "intake")
    intake = intakes[0].new.body if intakes else {}
    return Identity(name, key, _facts(_newest_identity(lines), IDENTITY_FACTS), _facts(intake, INTAKE_FACTS))


def _facts(body: Mapping[str, Any], fields: Sequence[tuple[str, str]]) -> dict[str, str]:
    said = [(word, ", ".join(w for w in map(words, each(body.get(f)) or [body.get(f)]) if w)) for f, word in fields]
    return {word: value for word, value in said if value}


def _documents(left: Mapping[str, Chosen], now: Sequence[Evidence]) -> tuple[Evidence, ...]:
    """Return the evidence whose findings are open: all of the machine as it now is, and what stands for as left."""
    chosen = [c.evidence for c in left.values() if c.evidence is not None]
    gauges = [e for e in chosen if e.sort == "gauge"]
    rest = [e for e in now if e.sort != "gauge"]
    missing = [e for e in chosen if e.sort != "gauge" and e.sort not in {r.sort for r in rest}]
    return tuple(sorted([*gauges, *rest, *missing], key=lambda e: e.entry.number))


def _phases(found: Mapping[str, Chosen], left: Mapping[str, Chosen]) -> tuple[Phase, ...]:
    return tuple(
        Phase(sort, phase, chosen[sort].said)
        for sort in OF_THE_MACHINE
        for phase, chosen in ((AS_FOUND, found), (AS_LEFT, left))
        # a sort without any evidence stands among what was not tested
        if chosen[sort].said and (found[sort].evidence or left[sort].evidence)
    )


def _gauge_quantities(answers: Sequence[Answer]) -> list[Quantity]:
    out = []
    for a in answers:
        if a.id and a.reading:
            measured = None if a.value is None or a.unit == "yes" else Reading(a.value, a.u, a.unit)
            out.append(Quantity(a.group, a.check, a.reading, measured, a.state, a.line))
    return out


F = TypeVar("F", LineFigures, TapeFigures)


def _sides(found: F | None, left: F | None) -> tuple[F, ...]:
    """Return the figures as found and as left; those as found not where the same evidence stands for both."""
    same = found and left and found.line == left.line
    return tuple(each for each in (None if same else found, left) if each)
