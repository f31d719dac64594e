"""The watches of the bench: at most one a machine, and what each leaves in the book.

The evidence and the trials of a watch go in together or not at all; its recording is taken away after that.
"""

import shutil
import threading
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from tapewright.bench.landing import own_folder
from tapewright.bench.live import Line
from tapewright.bench.live.watching import Order, Watching
from tapewright.bench.words import see
from tapewright.errors import InputError

if TYPE_CHECKING:
    from tapewright.book.ports import Book

#: how long the bench waits at its own end for a watch to write what it has
LAST_WORDS_S = 20.0


class Watches:
    """Safe to use from any thread.

    Args:
        book: where they go.
        recordings: folder in which they are recorded until then.
        rescue: takes in the recording in a folder whose watch did not come to its end; says what becomes of it.
    """

    def __init__(self, book: "Book", recordings: Path, rescue: Callable[[Path], str] = lambda folder: "") -> None:
        """Begin without any."""
        self._book, self._recordings, self._rescue = book, recordings, rescue
        self._table: dict[str, Watching] = {}
        self._lock = threading.Lock()

    def of(self, machine: str) -> Watching | None:
        """Return the watch of a machine, also one that has ended; None when there was none."""
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
                raise InputError(
                    "the watch", expected="one at a time for a machine", found="one that goes on", do="Stop it first."
                )
            folder = own_folder(self._recordings, "watched").path.parent
            keep = partial(self._keep, machine, folder)
            self._table[machine] = Watching(order, machine, folder, keep, partial(self._rescue, folder))
            return self._table[machine]

    def running(self, machine: str) -> Watching:
        """Return the watch that goes on.

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

    def _keep(self, machine: str, folder: Path, end: Line, order: Order) -> tuple[str, str]:
        """Write the evidence with its raw signal, and each trial with what it did."""
        from tapewright.book.entry import NewEntry
        from tapewright.book.keep_result import Result, Taken, checked_line, keep_result
        from tapewright.book.store.laid_out import raw_file

        trials = [checked_line(NewEntry(machine, "trial", body, order.by)) for body in end["trials"]]
        path, says = "", ""
        if end["record"]:
            settings = {"nominal": order.nominal, "alphabet": order.alphabet, "rate": end["rate_hz"]}
            raw = [raw_file("capture", Path(end["record"]))]
            taken = Taken(order.phase, order.by, order.instrument)
            result = Result(end["result"], "line read", settings, raw, taken, then=trials)
            entry = keep_result(self._book, machine, result)
            path = see({"sort": "line", "key": entry.key}, machine)
        elif trials:
            self._book.write(trials, {})
            says = f"The trials are in the book; the signal is not: {end['figures_from']}."
        else:
            says = f"Nothing went into the book: {end['figures_from']}."
        shutil.rmtree(folder, ignore_errors=True)  # only now: what could not be written waits for the next start
        return path, f"{end.get('failed', '')} {says}".strip()
