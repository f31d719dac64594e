"""Find the part at fault: gather evidence from files, reason, say what to do next."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from msgspec.structs import replace

from tapewright.advisor.code_pairs import PairReading
from tapewright.advisor.document import Diagnosis, NotCounted, Pairs, RankedCode, WouldCome
from tapewright.advisor.evidence import Answer, Evidence
from tapewright.advisor.evidence_table import Table, machine_named, read_evidence
from tapewright.advisor.machine_model import Model
from tapewright.advisor.measured import (
    SPEED_GATE,
    answers_from,
    is_document,
    not_counted_timing,
    proves_speed,
    together,
    without_reckoned,
)
from tapewright.advisor.next_test import Bounds
from tapewright.advisor.overtaken import Overtaken
from tapewright.advisor.pair_answers import answers_from_pairs
from tapewright.advisor.reason import diagnose
from tapewright.advisor.search import settle_unclear
from tapewright.errors import InputError

#: Evidence by what it is called.
Tables = Sequence[tuple[str, Table]]


@dataclass(frozen=True, slots=True)
class FaultReport:
    """A diagnosis and the machine model it was made with."""

    model: Model
    diagnosis: Diagnosis


def find_the_fault(
    names: Sequence[str],
    *,
    read: Callable[[str], Table],
    load: Callable[[str], Model],
    machine: str = "",
    more: Table | None = None,
    bounds: Bounds | None = None,
    overtaken: Mapping[str, Overtaken] | None = None,
) -> FaultReport:
    """Read the files, gather the evidence, diagnose.

    Args:
        names: evidence files and result documents.
        read: returns the table in a file.
        load: returns a machine model by name.
        machine: the machine; else the one an evidence file names, else the whole machine.
        more: evidence given on the command line, in the shape of an evidence file.
        bounds: risk, depth and minutes allowed for the next test.
        overtaken: file -> what of it does not count any more.

    Raises:
        InputError: when a file does not fit together.
    """
    tables = [(name, read(name)) for name in names] + ([("command line", more)] if more else [])
    model = load(machine or _machine(tables))
    evidence, pairs = gather(tables, model, overtaken or {})
    try:
        found = diagnose(model, evidence, bounds)
    except ValueError as problem:
        raise InputError(
            ", ".join(names) or "evidence",
            expected="evidence that can happen in this machine",
            found=str(problem),
            do="Look for a yes or no that is not so.",
        ) from problem
    gone = _not_counted(tables, model, overtaken or {})
    return FaultReport(model, replace(found, files=tuple(names), pairs=_pairs(pairs), not_counted=gone))


def _pairs(reading: PairReading | None) -> Pairs | None:
    if reading is None:
        return None
    ranked = tuple(
        RankedCode(
            transformation=each.suspect.name,
            element=each.suspect.element or None,
            probability=each.probability,
            explains=each.explains,
            wrong=each.wrong,
        )
        for each in reading.ranked
    )
    then = tuple(WouldCome(transformation=name, would_come_as=code) for name, code in reading.then)
    return Pairs(ranked=ranked, send_next=reading.decide or None, then=then)


def _machine(tables: Tables) -> str:
    named = [machine_named(table, name) for name, table in tables if not is_document(table)]
    different = sorted({machine for machine in named if machine})
    if len(different) > 1:
        raise InputError(
            ", ".join(name for name, _ in tables),
            place="key 'machine'",
            expected="one machine",
            found=" and ".join(different),
            do="Say which with --machine.",
        )
    return different[0] if different else ""


def gather(
    tables: Tables, model: Model, overtaken: Mapping[str, Overtaken] | None = None
) -> tuple[Evidence, PairReading | None]:
    """Turn evidence files and result documents into one body of evidence, without what adjustments overtook."""
    past = {name: gone.findings for name, gone in (overtaken or {}).items()}
    on_record, tried, unclear, reading = set[str](), set[str](), list[tuple[Answer, ...]](), None
    answered: list[Answer] = []
    said, notes = list[str](), list[str]()
    for name, table in tables:
        gone = past.get(name, frozenset())
        if is_document(table):
            notes += not_counted_timing(table, name)
            if SPEED_GATE in model.gates and not _speed_tests(model) & gone and proves_speed(table, model):
                on_record.add(SPEED_GATE)
            continue
        read = read_evidence(table, name, model)
        answers, found = answers_from_pairs(read.pairs, name)
        known = [answer for answer in answers if answer.finding in model.findings]
        reading = reading if found is None or all(a.finding in gone for a in known) else found
        answered += _still(gone, [*read.evidence.answers, *known])
        unclear += [still for each in read.unclear if (still := _still(gone, each))]
        on_record |= read.evidence.on_record - ({SPEED_GATE} if _speed_tests(model) & gone else set())
        tried |= read.evidence.tried
        said += read.evidence.said
        notes += read.evidence.notes
    settled = settle_unclear(model, [*_measured(tables, model, past), *answered], unclear)
    return Evidence(settled, frozenset(on_record), frozenset(tried), tuple(said), tuple(notes)), reading


def _measured(tables: Tables, model: Model, past: Mapping[str, frozenset[str]]) -> list[Answer]:
    """Return what the documents say; together they say nothing about what is overtaken in any of them."""
    documents = [(name, table) for name, table in tables if is_document(table)]
    said = [answers_from(table, model, name) for name, table in documents]
    alone = zip(documents, without_reckoned([table for _, table in documents], said), strict=True)
    still = [a for (name, _), found in alone for a in _still(past.get(name, frozenset()), found)]
    anywhere = frozenset[str]().union(*past.values())
    return [*still, *_still(anywhere, together([table for _, table in documents], model))]


def _still(gone: frozenset[str], answers: Sequence[Answer]) -> tuple[Answer, ...]:
    return tuple(answer for answer in answers if answer.finding not in gone)


def _speed_tests(model: Model) -> set[str]:
    """Return the findings by which the speed is proven."""
    tests = {name for name, test in model.tests.items() if test.opens == SPEED_GATE}
    return {name for name, finding in model.findings.items() if finding.test in tests}


def _not_counted(tables: Tables, model: Model, overtaken: Mapping[str, Overtaken]) -> tuple[NotCounted, ...]:
    """Return what the evidence says about findings that were overtaken in it."""
    out = []
    for name, table in tables:
        if (gone := overtaken.get(name)) is None:
            continue
        if is_document(table):
            answers = answers_from(table, model)
        else:
            read = read_evidence(table, name, model)
            pairs = [a for a in answers_from_pairs(read.pairs, name)[0] if a.finding in model.findings]
            answers = [*read.evidence.answers, *(a for each in read.unclear for a in each), *pairs]
        still = [a for a in answers if a.finding in gone.findings and a.state != "not examined"]
        out += [not_counted(model, a, name, gone.changes) for a in still]
    return tuple(out)


def not_counted(model: Model, answer: Answer, evidence: str, changes: Sequence[str]) -> NotCounted:
    """Return the record of something found in a piece of evidence that these adjustments have overtaken."""
    return NotCounted(
        finding=answer.finding,
        says=model.findings[answer.finding].says,
        state=answer.state,
        how=answer.how,
        evidence=evidence,
        overtaken_by=tuple(changes),
    )
