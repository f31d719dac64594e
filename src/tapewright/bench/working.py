"""Documents of pages that take longer than anybody should look at an empty page.

    page asked for -> worked out beside -> there in time?  yes: the page
                                                           no:  NotYetError; the frame is shown, the work goes on,
                                                                and whoever comes again takes what it gave

Half a second goes into loading the advisor after a start; a large book may take longer. While the bench is still
loading, the wait is short, so that other work on the same core cannot make it long.
"""

import threading
import time
from collections.abc import Callable, Mapping
from concurrent.futures import Future, wait
from dataclasses import dataclass, field
from typing import Any

Document = Mapping[str, Any]
#: how long a page is waited for before a word is said: while the bench is loading, and then
LOADING_S, READY_S = 0.06, 1.0
#: and where nobody sits before it
FOR_PROGRAMS_S = 600.0
#: a document that nobody came again for is as old as this at the most, in s
KEPT_S = 5.0


class NotYetError(Exception):
    """The document is being worked out; come again."""


@dataclass(slots=True)
class _Work:
    future: "Future[Document]" = field(default_factory=Future)
    done_at: float = 0.0


class Working:
    """Safe to use from any thread; the same page is never worked out twice at once."""

    def __init__(self) -> None:
        """Begin with the patience of a program; who serves people sets it lower."""
        self.patience_s = FOR_PROGRAMS_S
        self._table: dict[str, _Work] = {}
        self._lock = threading.Lock()

    def document(self, path: str, work: Callable[[], Document]) -> Document:
        """Return what the work gives, if it does so soon.

        Args:
            path: what is asked for, whole: the same path means the same document.
            work: makes the document.

        Raises:
            NotYetError: when it takes longer; ask again with the same path.
        """
        running = self._begin(path, work)
        wait([running.future], self.patience_s)
        if not running.future.done():
            raise NotYetError
        self._forget(path, running)
        return running.future.result()

    def begun(self, path: str) -> Document | None:
        """Wait for the document that somebody was told to come again for, and leave it to them; None for none."""
        with self._lock:
            running = self._table.get(path)
        return running.future.result() if running else None

    def forget(self) -> None:
        """Let go of what was worked out: something was written since."""
        with self._lock:
            self._table.clear()

    def _begin(self, path: str, work: Callable[[], Document]) -> _Work:
        with self._lock:
            self._let_go_of_the_old()
            running = self._table.get(path)
            if running is None:
                running = self._table[path] = _Work()
                threading.Thread(target=_run, args=(running, work), name="bench page", daemon=True).start()
        return running

    def _let_go_of_the_old(self) -> None:
        now = time.monotonic()
        old = [path for path, work in self._table.items() if work.done_at and now - work.done_at > KEPT_S]
        for path in old:
            del self._table[path]

    def _forget(self, path: str, running: _Work) -> None:
        with self._lock:
            if self._table.get(path) is running:
                del self._table[path]


def _run(running: _Work, work: Callable[[], Document]) -> None:
    try:
        document = work()
    except BaseException as refusal:  # whoever waits gets it
        running.done_at = time.monotonic()
        running.future.set_exception(refusal)
    else:
        running.done_at = time.monotonic()
        running.future.set_result(document)
