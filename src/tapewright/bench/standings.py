"""Where each machine stands, worked out once for each line that is written: a page must not wait for it twice.

The advisor is loaded when it is first asked: the first page need not wait for it.
"""

import threading
from collections import OrderedDict, defaultdict
from typing import TYPE_CHECKING

from tapewright.book.entry import MachineOnShelf

if TYPE_CHECKING:
    from tapewright.advisor.find_the_fault import FaultReport
    from tapewright.book.ports import Book

MOST_KEPT = 64
#: kinds of line that can change where a machine stands
COUNTED = ("identity", "evidence", "adjustment", "electrical check")


class Standings:
    """Keeps the last standings worked out; safe to use from any thread, and never works one out twice at once."""

    def __init__(self, book: "Book") -> None:
        """Keep standings of the machines of one book."""
        self._book = book
        self._kept: OrderedDict[str, tuple[tuple[int, ...], FaultReport]] = OrderedDict()
        self._lock = threading.Lock()
        self._working: defaultdict[str, threading.Lock] = defaultdict(threading.Lock)

    def of(self, machine: MachineOnShelf) -> "FaultReport":
        """Return where a machine stands, as of the newest line that can change it."""
        with self._lock:
            working = self._working[machine.key]
        with working:
            counts = self._book.counts(machine.key)
            as_of = tuple(counts.get(kind, 0) for kind in COUNTED)
            with self._lock:
                kept = self._kept.get(machine.key)
            return kept[1] if kept and kept[0] == as_of else self._work_out(machine, as_of)

    def known(self, machine: str) -> "FaultReport | None":
        """Return the last standing that was worked out, without working out any: for a list of many machines."""
        with self._lock:
            kept = self._kept.get(machine)
        return kept[1] if kept else None

    def _work_out(self, machine: MachineOnShelf, as_of: tuple[int, ...]) -> "FaultReport":
        from tapewright.advisor.from_book import diagnose_from_book
        from tapewright.advisor.models import ModelsInPackage

        standing = diagnose_from_book(self._book, ModelsInPackage(), machine.key)
        with self._lock:
            self._kept[machine.key] = (as_of, standing)
            self._kept.move_to_end(machine.key)
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        return standing
