"""Find the part at fault: gather evidence from files, reason, say what to do next."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from tapewright.advisor.code_pairs import PairReading
from tapewright.advisor.document import Diagnosis, diagnose
from tapewright.advisor.evidence import Answer, Evidence
from tapewright.advisor.evidence_table import machine_named, read_evidence
from tapewright.advisor.machine_model import Model
from tapewright.advisor.measured import answers_from, answers_from_all, is_document, proves_speed
from tapewright.advisor.measured.documents import SPEED_GATE
from tapewright.advisor.next_test import Bounds
from tapewright.advisor.overtaken import Overtaken
from tapewright.advisor.pair_answers import answers_from_pairs
from tapewright.advisor.search import settle_unclear
from tapewright.errors import InputError


class EvidenceFiles(Protocol):
    """Reads evidence files and result documents as tables."""

    def read(self, name: str) -> Mapping[str, Any]:
        """Return the table in a file."""


class Models(Protocol):
    """Gives machine models by name."""

    def load(self, name: str) -> Model:
        """Return a model."""


@dataclass(frozen=True, slots=True)
class NotCounted:
    """Something that was found and that a later adjustment has overtaken.

    Attributes:
        answer: what was found.
        evidence: where.
        changes: the adjustments, in words.
    """

    answer: Answer
    evidence: str
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FaultReport:
    """A diagnosis with what it was made from.

    Attributes:
        diagnosis: the answer.
        evidence: all that was known.
        pairs: reading of the characters sent and received, None when there were none.
        files: names of the files read.
        not_counted: what adjustments have overtaken; to be looked for again.
    """

    diagnosis: Diagnosis
    evidence: Evidence
    pairs: PairReading | None
    files: tuple[str, ...]
    not_counted: tuple[NotCounted, ...] = ()


def find_the_fault(
    models: Models,
    files: EvidenceFiles,
    names: Sequence[str],
    *,
    machine: str = "",
    more: Mapping[str, Any] | None = None,
    bounds: Bounds | None = None,
    overtaken: Mapping[str, Overtaken] | None = None,
) -> FaultReport:
    """Read the files, gather the evidence, diagnose.

    Args:
        models: where machine models come from.
        files: where evidence files come from.
        names: evidence files and result documents.
        machine: the machine; else the one an evidence file names, else the whole machine.
        more: evidence given on the command line, in the shape of an evidence file.
        bounds: risk, depth and minutes allowed for the next test.
        overtaken: file -> what of it does not count any more.

    Raises:
        InputError: when a file does not fit together.
    """
    tables = [(name, files.read(name)) for name in names] + ([("command line", more)] if more else [])
    model = models.load(machine or _machine(tables))
    evidence, pairs = gather(tables, model, overtaken or {})
    try:
        found = diagnose(model, evidence, bounds)
        return FaultReport(found, evidence, pairs, tuple(names), _not_counted(tables, model, overtaken or {}))
    except ValueError as problem:
        raise InputError(", ".join(names) or "evidence", expected="evidence that can happen in this machine",
                         found=str(problem), do="Look for a yes or no that is not so.") from problem  # fmt: skip


def _machine(tables: Sequence[tuple[str, Mapping[str, Any]]]) -> str:
    named = [machine_named(table, name) for name, table in tables if not is_document(table)]
    different = sorted({machine for machine in named if machine})
    if len(different) > 1:
        raise InputError(", ".join(name for name, _ in tables), place="key 'machine'", expected="one machine",
                         found=" and ".join(different), do="Say which with --machine.")  # fmt: skip
    return different[0] if different else ""


def gather(
    tables: Sequence[tuple[str, Mapping[str, Any]]], model: Model, overtaken: Mapping[str, Overtaken] | None = None
) -> tuple[Evidence, PairReading | None]:
    """Turn evidence files and result documents into one body of evidence, without what adjustments overtook."""
    past = {name: gone.findings for name, gone in (overtaken or {}).items()}
    on_record, tried, unclear, reading = set[str](), set[str](), list[tuple[Answer, ...]](), None
    said: list[Answer] = []
    for name, table in tables:
        gone = past.get(name, frozenset())
        if is_document(table):
            if SPEED_GATE in model.gates and not _speed_tests(model) & gone and proves_speed(table, model):
                on_record.add(SPEED_GATE)
            continue
        read = read_evidence(table, name, model)
        answers, found = answers_from_pairs(read.pairs, name)
        known = [answer for answer in answers if answer.finding in model.findings]
        reading = reading if found is None or all(a.finding in gone for a in known) else found
        said += _still(gone, [*read.evidence.answers, *known])
        unclear += [still for each in read.unclear if (still := _still(gone, each))]
        on_record |= read.evidence.on_record - ({SPEED_GATE} if _speed_tests(model) & gone else set())
        tried |= read.evidence.tried
    settled = settle_unclear(model, [*_measured(tables, model, past), *said], unclear)
    return Evidence(settled, frozenset(on_record), frozenset(tried)), reading


def _measured(
    tables: Sequence[tuple[str, Mapping[str, Any]]], model: Model, past: Mapping[str, frozenset[str]]
) -> list[Answer]:
    """Return what the documents say; together they say nothing about what is overtaken in any of them."""
    documents = [(name, table) for name, table in tables if is_document(table)]
    alone = [(name, answer) for name, table in documents for answer in answers_from(table, model)]
    together = answers_from_all([table for _, table in documents], model)[len(alone) :]
    anywhere = frozenset[str]().union(*past.values())
    still = [answer for name, answer in alone if answer.finding not in past.get(name, frozenset())]
    return [*still, *_still(anywhere, together)]


def _still(gone: frozenset[str], answers: Sequence[Answer]) -> tuple[Answer, ...]:
    return tuple(answer for answer in answers if answer.finding not in gone)


def _speed_tests(model: Model) -> set[str]:
    """Return the findings by which the speed is proven."""
    tests = {name for name, test in model.tests.items() if test.opens == SPEED_GATE}
    return {name for name, finding in model.findings.items() if finding.test in tests}


def _not_counted(
    tables: Sequence[tuple[str, Mapping[str, Any]]], model: Model, overtaken: Mapping[str, Overtaken]
) -> tuple[NotCounted, ...]:
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
        out += [NotCounted(a, name, gone.changes) for a in answers if a.finding in gone.findings and _says(a)]
    return tuple(out)


def _says(answer: Answer) -> bool:
    return answer.state != "not examined"
