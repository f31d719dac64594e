"""From what the book holds of a machine to the part at fault."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from tapewright.app.find_the_fault import FaultReport, Models, find_the_fault
from tapewright.app.ports import Book
from tapewright.core.book.entry import Entry
from tapewright.core.book.remedies import last_help
from tapewright.core.book.standing import standing
from tapewright.core.diagnosis.evidence_table import LISTS, resolve
from tapewright.core.diagnosis.machine_model import Model
from tapewright.core.diagnosis.next_test import Bounds
from tapewright.errors import InputError

#: Sorts of evidence the advisor reads as result documents; of each the newest counts.
MEASURED = ("line", "tape", "coil", "gauge", "margin", "speed", "supply")
#: A complete electrical check on record opens this gate of the advisor.
DEAD_CHECK = "dead electrical check"


class TablesOfBook:
    """Evidence tables by name, as the advisor reads files."""

    def __init__(self, tables: Mapping[str, Mapping[str, Any]]) -> None:
        self._tables = tables

    def read(self, name: str) -> Mapping[str, Any]:
        """Give a table."""
        return self._tables[name]


def diagnose_from_book(
    book: Book,
    models: Models,
    name: str,
    *,
    more: Mapping[str, Any] | None = None,
    bounds: Bounds | None = None,
) -> FaultReport:
    """Diagnose a machine of the book from its newest evidence of each sort and all observations that stand.

    Of two observations about one finding the newer counts. What was measured before the last adjustment says so. A
    remedy that helped closes a chapter: what was found before it no longer counts, what is on record does.

    Args:
        book: where the evidence is.
        models: machine models; the one that the machine's identity names is used, else the whole machine.
        name: name or key of the machine.
        more: further evidence, in the shape of an evidence file; goes before what the book says.
        bounds: risk, depth and minutes allowed for the next test.

    Raises:
        InputError: no such machine, or evidence that does not fit together.
    """
    machine = book.machine(name)
    identity = book.entries(machine.key, kinds=("identity",), limit=1)[0].new.body
    advisor = str(identity.get("advisor", ""))
    tables = tables_from_book(book, machine.key, models.load(advisor), more or {})
    return find_the_fault(models, TablesOfBook(tables), tuple(tables), machine=advisor, bounds=bounds)


def tables_from_book(
    book: Book, machine: str, model: Model, more: Mapping[str, Any]
) -> dict[str, Mapping[str, Any]]:
    """Give the evidence tables of a machine by a name that tells what they are; the newest word on a finding counts."""
    changed = book.entries(machine, kinds=("adjustment",), limit=1)
    since = changed[0] if changed else None
    closed = last_help(book.entries(machine, kinds=("adjustment",)))
    newest = book.newest_evidence(machine)
    measured = [newest[sort] for sort in MEASURED if sort in newest and newest[sort].number > closed]
    tables: dict[str, Mapping[str, Any]] = {_label(entry, since): entry.new.body["result"] for entry in measured}
    said = standing(book.entries(machine, kinds=("evidence",), sort="observation"))
    observations = [(f"line {entry.number}, observed", _still_so(entry, closed)) for entry in reversed(said)]
    tables |= _newest_word(model, [("command line", more), *observations] if more else observations)
    checks = standing(book.entries(machine, kinds=("electrical check",)))
    if checks and checks[-1].new.body.get("complete") is True and DEAD_CHECK in model.gates:
        tables[f"line {checks[-1].number}, electrical check"] = {"done": [DEAD_CHECK]}
    return tables


def _still_so(entry: Entry, closed: int) -> Mapping[str, Any]:
    """Give what an observation says; of one from before a remedy that helped, only the gates on record."""
    result: Mapping[str, Any] = entry.new.body["result"]
    return result if entry.number > closed else {key: result[key] for key in ("machine", "done") if key in result}


def _newest_word(model: Model, tables: Sequence[tuple[str, Mapping[str, Any]]]) -> dict[str, Mapping[str, Any]]:
    """Leave out of each table, newest first, what a newer one has answered."""
    heard: set[frozenset[str]] = set()
    out: dict[str, Mapping[str, Any]] = {}
    for label, table in tables:
        here: dict[str, Any] = {key: value for key, value in table.items() if key not in (*LISTS, "format", "machine")}
        about: set[frozenset[str]] = set()
        for key in LISTS:
            for place, words in enumerate(table.get(key, ()), start=1):
                meant = frozenset(match.finding for match in resolve(words, model, label, f"{key}[{place}]"))
                if meant not in heard:
                    here.setdefault(key, []).append(words)
                about.add(meant)
        heard |= about
        out[label] = here
    return out


def _label(entry: Entry, changed: Entry | None) -> str:
    said = f"line {entry.number}, {entry.new.body['sort']} of {_day(entry.at)}, {entry.new.body['phase']}"
    return f"{said}, before the last adjustment" if changed and changed.number > entry.number else said


def _day(at: datetime) -> str:
    return f"{at:%Y-%m-%d}"


def observation_document(more: Mapping[str, Any]) -> dict[str, Any]:
    """Give what somebody observed as `tapewright/observation/1`.

    Raises:
        InputError: when nothing was said.
    """
    if not more:
        raise InputError("observation", expected="at least one answer", found="none")
    return {"format": "tapewright/observation/1", **more}
