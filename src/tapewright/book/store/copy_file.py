"""Copy a SQLite book while others write to it, and put a copy in the place of a book, whole or not at all.

Source: sqlite.org, "SQLite Backup API" and "Write-Ahead Logging". The source is read in one read transaction, so that
the copy is the book of one moment and a busy writer cannot make it begin again; in WAL mode no writer waits for it.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from tapewright.book.store.engine import WAIT_S, address_of
from tapewright.book.store.refusals import refusal
from tapewright.errors import InputError
from tapewright.furniture.record import Progress

PAGES_AT_A_TIME = 2048
#: what SQLite keeps beside a book that is open
BESIDE = ("", "-wal", "-shm", "-journal")


def copy_book(source: Path, target: Path, progress: Progress) -> None:
    """Write a copy that is one file and whole; it appears under its name only then.

    Raises:
        InputError: when the source cannot be read or the copy not written.
    """
    half = target.with_name(f".{target.name}.{os.getpid()}.half")
    with _plainly(target):
        try:
            half.unlink(missing_ok=True)
            _copy(source, half, progress)
            _to_disk(half)
            os.replace(half, target)
            _folder_to_disk(target.absolute().parent)
        finally:
            for end in BESIDE:
                half.with_name(half.name + end).unlink(missing_ok=True)


def copy_into(source: Path, target: Path, progress: Progress) -> None:
    """Make a book that others may have open the same as a copy, in one transaction of its own.

    Raises:
        InputError: when the one cannot be read or the other not written; the target is then as it was.
    """
    with _plainly(target), closing(_open(source)) as one, closing(_open(target)) as other:
        other.execute("PRAGMA synchronous = FULL")
        one.backup(other, pages=-1)
        progress(1.0)


def put_aside(book: Path, what: str) -> Path:
    """Return a book, with what lies beside it, another name; nothing is deleted. Give the new name."""
    aside = free_name(book, what)
    for end in BESIDE:
        there = book.with_name(book.name + end)
        if there.exists():
            os.replace(there, aside.with_name(aside.name + end))
    return aside


def free_name(book: Path, what: str) -> Path:
    """Return a name beside the book that no file has, for example "workshop.book.before-restore-1"."""
    number = 1
    while True:
        name = book.with_name(f"{book.name}.{what}-{number}")
        if not any(name.with_name(name.name + end).exists() for end in BESIDE):
            return name
        number += 1


def _copy(source: Path, half: Path, progress: Progress) -> None:
    def report(_: int, remaining: int, total: int) -> None:
        progress(1 - remaining / max(total, 1))

    with closing(_open(source)) as one, closing(sqlite3.connect(half, isolation_level=None)) as other:
        one.execute("BEGIN")
        one.execute("SELECT count(*) FROM sqlite_master").fetchone()
        one.backup(other, pages=PAGES_AT_A_TIME, progress=report)
        # a copy is one file, to be carried about; opening it as a book turns the write-ahead log on again
        other.execute("PRAGMA journal_mode = DELETE")


def _open(file: Path) -> sqlite3.Connection:
    return sqlite3.connect(address_of(file, create=False), uri=True, timeout=WAIT_S, isolation_level=None)


def _to_disk(file: Path) -> None:
    with file.open("r+b") as opened:
        os.fsync(opened.fileno())


def _folder_to_disk(folder: Path) -> None:
    """Write the folder's own list down, so that the new name survives a loss of power; not every system can."""
    if os.name != "posix":
        return
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)


@contextmanager
def _plainly(target: Path) -> Iterator[None]:
    if not target.absolute().parent.is_dir():
        raise InputError(str(target), expected="a folder that is there", found=f"no folder {target.absolute().parent}")
    try:
        yield
    except sqlite3.Error as problem:
        raise refusal(str(target), str(problem)) from problem
