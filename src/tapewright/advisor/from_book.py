"""From what the book holds of a machine to the part at fault."""

import tomllib
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from msgspec.structs import replace

from tapewright.advisor.document import NotCounted
from tapewright.advisor.evidence_table import LISTS, Table, resolve, texts_in
from tapewright.advisor.machine_model import Model
from tapewright.advisor.measure import FaultReport, find_the_fault, not_counted
from tapewright.advisor.measured import answers_from
from tapewright.advisor.models import load
from tapewright.advisor.next_test import Bounds
from tapewright.advisor.overtaken import Change, Overtaken, overtaken_by, requirements_upset, without
from tapewright.book.entry import Entry
from tapewright.book.ports import Book
from tapewright.book.standing import last_help, standing
from tapewright.errors import InputError

#: Sorts of evidence the advisor reads as result documents; of each the newest counts.
MEASURED = ("line", "tape", "coil", "gauge", "margin", "speed", "supply")
#: A complete electrical check on record opens this gate of the advisor.
DEAD_CHECK = "dead electrical check"
#: outcomes of an adjustment by which the fault stayed as it was
IN_VAIN = ("no", "in vain")


def diagnose_from_book(
    book: Book,
    name: str,
    *,
    more: Table | None = None,
    bounds: Bounds | None = None,
) -> FaultReport:
    """Diagnose a machine of the book from its newest evidence of each sort and all observations that stand.

    Of two observations about one finding the newer counts. What an adjustment has overtaken since it was found counts
    neither for nor against a part (see `core.diagnosis.overtaken`). A remedy that helped closes a chapter: what was
    found before it no longer counts, what is on record does.

    Args:
        book: where the evidence is.
        name: name or key of the machine.
        more: further evidence, in the shape of an evidence file; goes before what the book says.
        bounds: risk, depth and minutes allowed for the next test.

    Raises:
        InputError: no such machine, or evidence that does not fit together.
    """
    machine = book.machine(name)
    identity = book.entries(machine.key, kinds=("identity",), limit=1)[0].new.body
    advisor = str(identity.get("advisor", ""))
    there = evidence_in_book(book, machine.key, load(advisor), more or {})
    report = find_the_fault(
        tuple(there.tables),
        read=there.tables.__getitem__,
        load=load,
        machine=advisor,
        bounds=bounds,
        overtaken=there.overtaken,
    )
    gone = (*there.not_counted, *report.diagnosis.not_counted)
    return FaultReport(report.model, replace(report.diagnosis, not_counted=gone))


@dataclass(frozen=True, slots=True)
class EvidenceInBook:
    """What the book holds about a machine, for the advisor.

    Attributes:
        tables: evidence by a name that tells what it is.
        overtaken: name -> what of it does not count any more.
        not_counted: readings of the sheet that are left out of the tables already.
    """

    tables: Mapping[str, Table]
    overtaken: Mapping[str, Overtaken]
    not_counted: tuple[NotCounted, ...]


def evidence_in_book(book: Book, machine: str, model: Model, more: Table) -> EvidenceInBook:
    """Return the evidence about a machine; the newest word on a finding counts."""
    adjusted = standing(book.entries(machine, kinds=("adjustment",)))
    closed = last_help(book.entries(machine, kinds=("adjustment",)))
    newest = book.newest_evidence(machine)
    sheet: Table = newest["gauge"].new.body["result"] if "gauge" in newest else {}
    tables: dict[str, Table] = {}
    overtaken: dict[str, Overtaken] = {}
    gone: list[NotCounted] = []
    for entry in (newest[sort] for sort in MEASURED if sort in newest and newest[sort].number > closed):
        since = [_change(line) for line in adjusted if line.number > entry.number]
        label = _label(entry, since=bool(since))
        tables[label] = entry.new.body["result"]
        if entry.new.body["sort"] == "gauge":
            stale = _stale(book, machine, entry, adjusted, model)
            tables[label] = without(tables[label], stale)
            gone += _left_out(entry, label, tables[label], stale, model)
        elif since:
            overtaken[label] = overtaken_by(since, model, sheet)
    observations = []
    for entry in reversed(standing(book.entries(machine, kinds=("evidence",), sort="observation"))):
        label = f"line {entry.number}, observed"
        observations.append((label, _still_so(entry, closed)))
        if since := [_change(line) for line in adjusted if line.number > entry.number]:
            overtaken[label] = overtaken_by(since, model, sheet)
    tables |= _newest_word(model, [("command line", more), *observations] if more else observations)
    checks = standing(book.entries(machine, kinds=("electrical check",)))
    if checks and checks[-1].new.body.get("complete") is True and DEAD_CHECK in model.gates:
        tables[f"line {checks[-1].number}, electrical check"] = {"done": [DEAD_CHECK]}
    return EvidenceInBook(tables, overtaken, tuple(gone))


def _change(line: Entry) -> Change:
    body = line.new.body
    what, recheck, outcome = str(body.get("what", "")), body.get("recheck", ()), str(body.get("outcome", ""))
    return Change(
        f"the adjustment in line {line.number} ({what})",
        what,
        str(body.get("station", "")),
        tuple(map(str, recheck)) if isinstance(recheck, list) else (),
        outcome.strip().casefold() in IN_VAIN,
    )


def _stale(book: Book, machine: str, newest: Entry, adjusted: Sequence[Entry], model: Model) -> dict[str, str]:
    """Return the requirements whose readings an adjustment has overtaken: id -> which did it last.

    A journal goes on from day to day: of one that was added to after an adjustment, only what was entered after it
    counts for what that adjustment upset.
    """
    sheet, stale = newest.new.body["result"], dict[str, str]()
    for line in adjusted:
        change = _change(line)
        upset = requirements_upset(change, model, sheet)
        if line.number < newest.number:
            before = book.entries(machine, kinds=("evidence",), sort="gauge", before=line.number, limit=1)
            upset = upset & _unchanged(book, before[0], newest) if before else frozenset()
        stale |= dict.fromkeys(upset, change.says)
    return stale


def _unchanged(book: Book, before: Entry, after: Entry) -> frozenset[str]:
    """Return the requirements for which the later journal holds nothing that the earlier one did not."""
    one, other = _entered(book, before), _entered(book, after)
    if one is not None and other is not None:
        return frozenset(id_ for id_ in other if other[id_] == one[id_])
    was = {r.get("id"): r.get("readings") for r in before.new.body["result"].get("requirements", ())}
    now = {r.get("id"): r.get("readings") for r in after.new.body["result"].get("requirements", ())}
    return frozenset(str(id_) for id_, found in now.items() if found and was.get(id_) == found)


def _entered(book: Book, gauge: Entry) -> Counter[str] | None:
    """Return how often a journal speaks of each requirement; None for a journal that is not TOML."""
    source = next((s for s in gauge.new.body.get("sources", ()) if s.get("role") == "readings"), None)
    if source is None:
        return None
    with book.raw(source["sha256"]) as stream:
        try:
            entries = tomllib.loads(stream.read().decode()).get("entry", [])
            return Counter(str(each.get("id")) for each in entries)
        except (ValueError, AttributeError, TypeError):
            return None


def _left_out(entry: Entry, label: str, kept: Table, stale: Mapping[str, str], model: Model) -> list[NotCounted]:
    still = {(answer.finding, answer.how) for answer in answers_from(kept, model)}
    gone = [a for a in answers_from(entry.new.body["result"], model) if (a.finding, a.how) not in still]
    return [not_counted(model, answer, label, tuple(dict.fromkeys(stale.values()))) for answer in gone]


def _still_so(entry: Entry, closed: int) -> Table:
    """Return what an observation says; of one from before a remedy that helped, only the gates on record."""
    result: Table = entry.new.body["result"]
    return result if entry.number > closed else {key: result[key] for key in ("machine", "done") if key in result}


def _newest_word(model: Model, tables: Sequence[tuple[str, Table]]) -> dict[str, Table]:
    """Leave out of each table, newest first, what a newer one has answered."""
    heard: set[frozenset[str]] = set()
    out: dict[str, Table] = {}
    for label, table in tables:
        here = {key: value for key, value in table.items() if key not in (*LISTS, "format", "machine")}
        about: set[frozenset[str]] = set()
        for key in LISTS:
            new = []
            for place, words in enumerate(texts_in(table, key, label), start=1):
                meant = frozenset(match.finding for match in resolve(words, model, label, f"{key}[{place}]"))
                new += [] if meant in heard else [words]
                about.add(meant)
            here |= {key: new} if new else {}
        heard |= about
        out[label] = here
    return out


def _label(entry: Entry, *, since: bool) -> str:
    label = f"line {entry.number}, {entry.new.body['sort']} of {entry.at:%Y-%m-%d}, {entry.new.body['phase']}"
    return f"{label}, before the last adjustment" if since else label


def observation_document(more: Table) -> dict[str, object]:
    """Return what somebody observed as `tapewright/observation/1`.

    Raises:
        InputError: when nothing was said.
    """
    if not more:
        raise InputError("observation", expected="at least one answer", found="none")
    return {"format": "tapewright/observation/1", **more}
