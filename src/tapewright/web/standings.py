"""Where each machine stands, worked out once for each line that is written: a page must not wait for it twice.

The advisor is loaded when it is first asked: the first page need not wait for it.
"""

import threading
from collections import OrderedDict
from datetime import datetime
from typing import TYPE_CHECKING

from tapewright.core.book.machine import MachineOnShelf

if TYPE_CHECKING:
    from tapewright.app.find_the_fault import FaultReport
    from tapewright.app.ports import Book

MOST_KEPT = 64


class Standings:
    """Keeps the last standings worked out; safe to use from any thread."""

    def __init__(self, book: "Book") -> None:
        """Keep standings of the machines of one book."""
        self._book = book
        self._kept: OrderedDict[str, tuple[int, datetime, FaultReport]] = OrderedDict()
        self._lock = threading.Lock()

    def of(self, machine: MachineOnShelf) -> "FaultReport":
        """Give where a machine stands, as of its newest line."""
        known = self.known(machine)
        if known is not None:
            return known
        from tapewright.adapters.machine_models import ModelsInPackage
        from tapewright.app.diagnose_from_book import diagnose_from_book

        standing = diagnose_from_book(self._book, ModelsInPackage(), machine.key)
        with self._lock:
            self._kept[machine.key] = (machine.entries, machine.last_at, standing)
            self._kept.move_to_end(machine.key)
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        return standing

    def known(self, machine: MachineOnShelf) -> "FaultReport | None":
        """Give it only when it is worked out already."""
        with self._lock:
            kept = self._kept.get(machine.key)
        return kept[2] if kept and kept[:2] == (machine.entries, machine.last_at) else None
