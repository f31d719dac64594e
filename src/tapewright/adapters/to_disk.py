"""Bring what was written to the disk itself, beside the line: a power cut then takes no more than the last seconds.

Flushing hands bytes to the system, which may keep them half a minute; only fsync waits for the disk. A slow card
needs a tenth of a second and more for it, so a thread of its own waits, and whoever follows the line does not.
"""

import contextlib
import os
import threading
from collections.abc import Callable
from pathlib import Path
from typing import IO, Any

#: what a power cut may take, s (owner's choice: a dozen characters, and a slow card is not kept busy)
EVERY_S = 5.0


class ToDisk:
    """Syncs a file every few seconds until closed.

    Args:
        file: open for writing; flushed by its owner.
        every_s: how often.
        sync: what brings a file to the disk.
    """

    def __init__(self, file: IO[Any], every_s: float = EVERY_S, sync: Callable[[int], None] = os.fsync) -> None:
        self._file, self._every_s, self._sync = file, every_s, sync
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._go_on, name="to the disk", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Sync for the last time; the file is closed by its owner, after this."""
        self._over.set()
        self._thread.join()
        self._once()

    def _go_on(self) -> None:
        while not self._over.wait(self._every_s):
            self._once()

    def _once(self) -> None:
        # a pipe or a folder of the network that cannot be synced is written all the same
        with contextlib.suppress(OSError, ValueError):
            self._sync(self._file.fileno())


def write_through(path: Path, text: str) -> None:
    """Write a small file so that it stands on the disk, its name too, when this returns."""
    with path.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    names_to_disk(path.parent)


def names_to_disk(folder: Path) -> None:
    """Bring to the disk which files a folder has, where the system knows of such a thing."""
    if hasattr(os, "O_DIRECTORY"):
        with contextlib.suppress(OSError):
            there = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
            try:
                os.fsync(there)
            finally:
                os.close(there)
