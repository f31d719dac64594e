"""Where a machine stands: the diagnosis from all the evidence the book has of it.

    newest line, tape, coil and gauge results  --+
    every observation, the newest word on each --+--> gather --> diagnose --> stations, causes, next step
    remedies tried, gates on record            --+

A remedy that helped closes a chapter: what was found before it no longer counts, what is on record does.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tapewright.app.find_the_fault import FaultReport, Models, gather
from tapewright.app.ports import Book
from tapewright.core.book.entry import Entry
from tapewright.core.book.remedies import last_help
from tapewright.core.diagnosis.diagnosis import Diagnosis, diagnose
from tapewright.core.diagnosis.evidence import Evidence
from tapewright.core.diagnosis.machine_model import Model
from tapewright.core.diagnosis.next_test import Bounds
from tapewright.errors import InputError

#: sorts whose newest result is the one that counts
MEASURED = ("line", "tape", "coil", "gauge")
#: keys of an observation that list findings, and those that list what is on record
SAID, ON_RECORD = ("yes", "no", "cannot_say"), ("done", "tried")

Table = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a machine stands.

    Attributes:
        report: the diagnosis.
        rests_on: the lines of the book it was made from, newest first.
        not_understood: what could not be used, each with its reason.
    """

    report: FaultReport
    rests_on: tuple[Entry, ...]
    not_understood: tuple[str, ...]


def where_it_stands(book: Book, models: Models, machine: str, *, bounds: Bounds | None = None) -> Standing:
    """Reason from what the book has of a machine.

    Args:
        book: where it is written.
        models: machine models of the advisor.
        machine: the machine's key.
        bounds: risk, depth and minutes allowed for the next test.

    Raises:
        InputError: when the machine names an advisor's model that there is not.
    """
    identity = book.entries(machine, kinds=("identity",), limit=1)
    model = models.load(str(identity[0].new.body.get("advisor", "")) if identity else "")
    since = last_help(book.entries(machine, kinds=("adjustment",)))
    newest = book.newest_evidence(machine)
    measured = [newest[sort] for sort in MEASURED if sort in newest and newest[sort].number > since]
    observed = _standing(book.entries(machine, kinds=("evidence",), sort="observation"))
    tables = [(_called(entry), entry.new.body["result"]) for entry in measured]
    tables += list(observations(observed, since))
    usable, refused = _usable(tables, model)
    evidence, pairs = gather(usable, model)
    report = FaultReport(_diagnosed(model, evidence, bounds), evidence, pairs, tuple(name for name, _ in usable))
    return Standing(report, tuple(sorted((*measured, *observed), key=lambda e: -e.number)), tuple(refused))


def observations(entries: Sequence[Entry], since: int) -> Iterable[tuple[str, Table]]:
    """Give the observations as evidence tables: one with the newest word on each finding, then what else they say.

    Args:
        entries: observations, newest first.
        since: findings in lines up to this number no longer count.
    """
    answers: dict[str, str] = {}
    record: dict[str, dict[str, None]] = {key: {} for key in ON_RECORD}
    others: list[tuple[str, Table]] = []
    for entry in reversed(entries):
        result = entry.new.body["result"]
        for key in ON_RECORD:
            if key == "done" or entry.number > since:
                record[key] |= dict.fromkeys(result.get(key, ()))
        if entry.number <= since:
            continue
        for key in SAID:
            answers |= dict.fromkeys(result.get(key, ()), key)
        rest = {key: result[key] for key in ("finding", "pairs") if result.get(key)}
        others += [(_called(entry), rest)] if rest else []
    whole: dict[str, list[str]] = {key: [w for w, said in answers.items() if said == key] for key in SAID}
    yield "the book", {key: words for key, words in (whole | {k: list(v) for k, v in record.items()}).items() if words}
    yield from others


def _standing(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Leave out what was replaced."""
    replaced = {entry.new.replaces for entry in entries}
    return tuple(entry for entry in entries if entry.key not in replaced)


def _called(entry: Entry) -> str:
    return f"{entry.new.body['sort']} of {entry.at:%Y-%m-%d %H:%M}"


def _usable(tables: Iterable[tuple[str, Table]], model: Model) -> tuple[list[tuple[str, Table]], list[str]]:
    """Leave out what this model cannot read, and say so: one odd line must not hide the machine."""
    good, refused = [], []
    for name, table in tables:
        try:
            gather([(name, table)], model)
            good.append((name, table))
        except InputError as problem:
            refused.append(str(problem))
    return good, refused


def _diagnosed(model: Model, evidence: Evidence, bounds: Bounds | None) -> Diagnosis:
    try:
        return diagnose(model, evidence, bounds)
    except ValueError as problem:
        wanted, do = "evidence that can happen in this machine", "Look for an answer that is not so, and take it back."
        raise InputError("the evidence", expected=wanted, found=str(problem), do=do) from problem
