r"""Bring what was written ahead into the book's file, beside whoever waits for the writing.

    a line with a long capture --> the journal, on disk: acknowledged --> the page goes on
                                          \--> the book's file, in the background

SQLite would do it before it gives the commit back that filled the journal, and write a long capture twice while
somebody waits. A line is as safe in the journal as in the file; whoever opens the book after a crash finds it there
(sqlite.org, "Write-Ahead Logging", 2.1 and 3.2).
"""

import contextlib
import sqlite3
import threading
from pathlib import Path

from sqlalchemy import Engine

#: As many bytes may stand in the journal; SQLite's own mark is 1,000 pages of 4 KiB.
JOURNAL_BYTES = 4_000_000


class Checkpoints:
    """The checkpoints of one book in a SQLite file; safe to use from several threads."""

    def __init__(self, engine: Engine, file: Path) -> None:
        """Take over from SQLite; its connections must not make checkpoints of their own."""
        self._engine, self._journal = engine, file.with_name(file.name + "-wal")
        self._lock = threading.Lock()
        self._running: threading.Thread | None = None

    def after_write(self) -> None:
        """Begin a checkpoint where the journal has grown long and none is on its way."""
        with contextlib.suppress(OSError), self._lock:
            if self._journal.stat().st_size < JOURNAL_BYTES or (self._running and self._running.is_alive()):
                return
            self._running = threading.Thread(target=self._checkpoint, name="book checkpoint")
            self._running.start()

    def close(self) -> None:
        """Wait for the one that is on its way; the last connection to close makes the last one."""
        with self._lock:
            running = self._running
        if running is not None:
            running.join()

    def _checkpoint(self) -> None:
        # it never waits for readers or writers: what it cannot bring over now, the next one does
        with contextlib.suppress(sqlite3.Error):
            raw = self._engine.raw_connection()
            try:
                raw.cursor().execute("PRAGMA wal_checkpoint(PASSIVE)").fetchall()
            finally:
                raw.close()
