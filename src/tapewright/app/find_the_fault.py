"""Find the part at fault: gather evidence from files, reason, say what to do next."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from tapewright.core.diagnosis.code_pairs import PairReading
from tapewright.core.diagnosis.diagnosis import Diagnosis, diagnose
from tapewright.core.diagnosis.evidence import Answer, Evidence
from tapewright.core.diagnosis.evidence_table import machine_named, read_evidence
from tapewright.core.diagnosis.machine_model import Model
from tapewright.core.diagnosis.measured import answers_from_all, is_document, proves_speed
from tapewright.core.diagnosis.measured.documents import SPEED_GATE
from tapewright.core.diagnosis.next_test import Bounds
from tapewright.core.diagnosis.pair_answers import answers_from_pairs
from tapewright.core.diagnosis.unclear_words import settle_unclear
from tapewright.errors import InputError


class EvidenceFiles(Protocol):
    """Reads evidence files and result documents as tables."""

    def read(self, name: str) -> Mapping[str, Any]:
        """Give the table in a file."""


class Models(Protocol):
    """Gives machine models by name."""

    def load(self, name: str) -> Model:
        """Give a model."""


@dataclass(frozen=True, slots=True)
class FaultReport:
    """A diagnosis with what it was made from.

    Attributes:
        diagnosis: the answer.
        evidence: all that was known.
        pairs: reading of the characters sent and received, None when there were none.
        files: names of the files read.
    """

    diagnosis: Diagnosis
    evidence: Evidence
    pairs: PairReading | None
    files: tuple[str, ...]


def find_the_fault(
    models: Models,
    files: EvidenceFiles,
    names: Sequence[str],
    *,
    machine: str = "",
    more: Mapping[str, Any] | None = None,
    bounds: Bounds | None = None,
) -> FaultReport:
    """Read the files, gather the evidence, diagnose.

    Args:
        models: where machine models come from.
        files: where evidence files come from.
        names: evidence files and result documents.
        machine: the machine; else the one an evidence file names, else the whole machine.
        more: evidence given on the command line, in the shape of an evidence file.
        bounds: risk, depth and minutes allowed for the next test.

    Raises:
        InputError: when a file does not fit together.
    """
    tables = [(name, files.read(name)) for name in names] + ([("command line", more)] if more else [])
    model = models.load(machine or _machine(tables))
    evidence, pairs = gather(tables, model)
    try:
        return FaultReport(diagnose(model, evidence, bounds), evidence, pairs, tuple(names))
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


def gather(tables: Sequence[tuple[str, Mapping[str, Any]]], model: Model) -> tuple[Evidence, PairReading | None]:
    """Turn evidence files and result documents into one body of evidence."""
    documents = [table for _, table in tables if is_document(table)]
    evidence = Evidence(tuple(answers_from_all(documents, model)))
    on_record, tried, unclear, reading = set[str](), set[str](), list[tuple[Answer, ...]](), None
    if any(proves_speed(document, model) for document in documents) and SPEED_GATE in model.gates:
        on_record.add(SPEED_GATE)
    for name, table in tables:
        if is_document(table):
            continue
        read = read_evidence(table, name, model)
        answers, found = answers_from_pairs(read.pairs, name)
        reading = found or reading
        known = [answer for answer in answers if answer.finding in model.findings]
        evidence = evidence.with_answers([*read.evidence.answers, *known])
        unclear += read.unclear
        on_record |= read.evidence.on_record
        tried |= read.evidence.tried
    settled = settle_unclear(model, evidence.answers, unclear)
    return Evidence(settled, frozenset(on_record), frozenset(tried)), reading
