"""The watches of the bench: at most one a machine, and what each leaves in the book."""

import shutil
import threading
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tapewright.errors import InputError
from tapewright.web.landing import own_folder
from tapewright.web.live.watching import Order, Watching
from tapewright.web.words import see

if TYPE_CHECKING:
    from tapewright.app.ports import Book

#: how long the bench waits at its own end for a watch to write what it has
LAST_WORDS_S = 20.0


class Watches:
    """Safe to use from any thread."""

    def __init__(self, book: "Book", arrivals: Path) -> None:
        """Begin without any."""
        self._book, self._arrivals = book, arrivals
        self._table: dict[str, Watching] = {}
        self._lock = threading.Lock()

    def of(self, machine: str) -> Watching | None:
        """Give the watch of a machine, also one that has ended; None when there was none."""
        with self._lock:
            return self._table.get(machine)

    def start(self, machine: str, order: Order) -> Watching:
        """Begin to watch.

        Raises:
            InputError: while this machine is being watched already.
        """
        with self._lock:
            old = self._table.get(machine)
            if old is not None and old.running:
                raise InputError("the watch", expected="one at a time for a machine", found="one that goes on",
                                 do="Stop it first.")  # fmt: skip
            folder = own_folder(self._arrivals, "watched").path.parent
            keep = partial(self._keep, machine, folder)
            self._table[machine] = Watching(order, machine, folder, keep)
            return self._table[machine]

    def running(self, machine: str) -> Watching:
        """Give the watch that goes on.

        Raises:
            InputError: when none does.
        """
        watching = self.of(machine)
        if watching is None or not watching.running:
            raise InputError("the watch", expected="one that goes on", found="none", do="Start one.")
        return watching

    def close(self) -> None:
        """End all of them; each writes what it has."""
        with self._lock:
            still = [watching for watching in self._table.values() if watching.running]
        for watching in still:
            watching.stop()
        for watching in still:
            watching.stop(LAST_WORDS_S)

    def _keep(self, machine: str, folder: Path, end: dict[str, Any], order: Order) -> tuple[str, str]:
        """Write the evidence with its raw signal, and each trial with what it did."""
        from tapewright.adapters.book.raw_file import raw_file
        from tapewright.app.keep_result import keep_result
        from tapewright.app.record_evidence import Taken, write_lines

        try:
            path = ""
            if end["record"]:
                steps = {"command": "line read", "settings": {
                    "nominal": order.nominal, "alphabet": order.alphabet, "rate": end["rate_hz"],
                }}  # fmt: skip
                raw = [raw_file("capture", Path(end["record"]))]
                taken = Taken(order.phase, order.by, order.instrument)
                entry = keep_result(self._book, machine, end["result"], raw, steps, taken)
                path = see({"sort": "line", "key": entry.key}, machine)
            for trial in end["trials"]:
                write_lines(self._book, machine, "trial", trial, by=order.by)
            return path, "" if path else f"Nothing went into the book: {end['figures_from']}."
        finally:
            shutil.rmtree(folder, ignore_errors=True)
