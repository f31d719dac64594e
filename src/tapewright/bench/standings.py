"""Where each machine stands and what is open on it, worked out once for each line that is written.

    book --advisor--> stations, causes, next test     (FaultReport)
         --proof, gauges, advisor--> what is open     (StillOpen)

What is open is counted here alone: shelf, machine, gauges and proof show these numbers, and the printed proof lists the
same points. The advisor and the proof are loaded when they are first asked: the first page need not wait for them.
"""

import threading
from collections import OrderedDict, defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

from msgspec import structs

from tapewright.book.entry import MachineOnShelf

if TYPE_CHECKING:
    from tapewright.advisor.measure import FaultReport
    from tapewright.book.ports import Book
    from tapewright.proof.document import OpenPoint

T = TypeVar("T")

MOST_KEPT = 64
#: kinds of line that can change where a machine stands
COUNTED = ("identity", "evidence", "adjustment", "electrical check")
#: kind of open point -> how many of them, in words
IN_WORDS = {
    "recheck": "to measure again",
    "outside": "outside",
    "not shown": "not shown",
    "finding": "found and not settled",
    "instrument": "in doubt about the instrument",
    "unexplained": "not explained",
    "book": "in the book and not to be read",
}


class Standings(Generic[T]):
    """Keeps the last results; safe to use from any thread, and never works one out twice at once.

    Args:
        book: of the machines.
        work: works the result of a machine out.
        kinds: of line that can change it; all of them when empty.
    """

    def __init__(self, book: "Book", work: Callable[[MachineOnShelf], T], kinds: tuple[str, ...] = ()) -> None:
        """Begin without any."""
        self._book, self._work, self._kinds = book, work, kinds
        self._kept: OrderedDict[str, tuple[tuple[int, ...], T]] = OrderedDict()
        self._lock = threading.Lock()
        self._working: defaultdict[str, threading.Lock] = defaultdict(threading.Lock)

    def of(self, machine: MachineOnShelf) -> T:
        """Return the result as of the newest line that can change it."""
        with self._lock:
            working = self._working[machine.key]
        with working:
            as_of = self._as_of(machine.key)
            with self._lock:
                kept = self._kept.get(machine.key)
            if kept and kept[0] == as_of:
                return kept[1]
            result = self._work(machine)
            with self._lock:
                self._kept[machine.key] = (as_of, result)
                self._kept.move_to_end(machine.key)
                while len(self._kept) > MOST_KEPT:
                    self._kept.popitem(last=False)
            return result

    def known(self, machine: str) -> T | None:
        """Return the result if it is worked out and still true, without working out any: for a list of machines."""
        with self._lock:
            kept = self._kept.get(machine)
        return kept[1] if kept and kept[0] == self._as_of(machine) else None

    def _as_of(self, machine: str) -> tuple[int, ...]:
        counts = self._book.counts(machine)
        return tuple(counts.get(kind, 0) for kind in self._kinds or sorted(counts))


@dataclass(frozen=True, slots=True)
class StillOpen:
    """What is open on a machine.

    Attributes:
        points: as the proof lists them; requirements of the sheet by what they ask.
        unexplained: findings that no cause of the advisor explains.
        not_tested: how many tests of the proof nobody has done.
        left: how many requirements of the sheet are not shown, recorded or accepted yet.
        of: how many the sheet has; 0 without a sheet.
    """

    points: "tuple[OpenPoint, ...]"
    unexplained: tuple[str, ...]
    not_tested: int
    left: int
    of: int

    def of_kind(self, kind: str) -> "list[OpenPoint]":
        """Return the points of one kind."""
        return [point for point in self.points if point.kind == kind]

    @property
    def words(self) -> list[dict[str, str]]:
        """What there is of each kind, with where it is closed under the machine's own path; empty for nothing."""
        counts = {kind: len(self.of_kind(kind)) for kind in IN_WORDS}
        counts["unexplained"] += len(self.unexplained)
        said = [{"says": f"{n} {IN_WORDS[kind]}", "see": "#open-title"} for kind, n in counts.items() if n]
        if self.left:
            said.append({"says": f"{self.left} of {self.of} left on the gauges", "see": "/gauges"})
        if self.not_tested:
            said.append({"says": f"{self.not_tested} not tested", "see": "/proof"})
        return said


def diagnosed(book: "Book", machine: MachineOnShelf) -> "FaultReport":
    """Return where the machine stands."""
    from tapewright.advisor.from_book import diagnose_from_book

    return diagnose_from_book(book, machine.key)


def still_open(book: "Book", machine: MachineOnShelf, found: "FaultReport") -> StillOpen:
    """Return what is open.

    Args:
        book: where all of it is written.
        machine: which.
        found: where it stands.
    """
    from tapewright.bench.gauging import bound
    from tapewright.proof.prove_machine import still_missing

    missing, gauged = still_missing(book, machine.key), bound(book, machine.key)
    checked = () if gauged is None else gauged.check.checked
    asked = {c.requirement.id: c.requirement.what for c in checked}
    return StillOpen(
        points=tuple(structs.replace(p, what=asked.get(p.what, p.what)) for p in missing.open_points),
        unexplained=tuple(each.says for each in found.diagnosis.unexplained),
        not_tested=len(missing.not_tested),
        left=sum(not c.closed for c in checked),
        of=len(checked),
    )
