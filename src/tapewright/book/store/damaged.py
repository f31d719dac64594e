"""Open a book that may be damaged, to look through it and to save what is whole. Nothing is brought up to date."""

import shutil
import sqlite3
from dataclasses import replace
from pathlib import Path

from sqlalchemy import Connection, Engine, create_engine, event, inspect
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.pool import NullPool

from tapewright.book.check_book import check_book
from tapewright.book.keys import known_benches
from tapewright.book.soundness import Fault, Soundness, whole_line
from tapewright.book.store.engine import WAIT_S, address_of, engine_for
from tapewright.book.store.examine import examining
from tapewright.book.store.open import VERSION_TABLE, bring_up_to_date, utc_now
from tapewright.book.store.place import Place, place_of
from tapewright.book.store.refusals import NOTHING, plainly
from tapewright.book.store.sql_book import SqlBook
from tapewright.book.store.tables import ENTRIES, PIECES
from tapewright.errors import InputError
from tapewright.furniture.record import Progress

#: how every SQLite file begins (sqlite.org, "Database File Format", 1.3.1)
SQLITE_BEGINS = b"SQLite format 3\x00"
#: writable_schema makes SQLite read a file shorter than its header says, query_only keeps it from writing
LENIENT = ("PRAGMA writable_schema = ON", "PRAGMA query_only = ON", "PRAGMA trusted_schema = OFF")
#: What SQLite takes beside a book to open it: its shared memory (32 KiB, sqlite.org "Write-Ahead Logging") and a page.
ROOM_BYTES = 65_536
NOT_A_BOOK = "it does not begin as a book does: it is a file of another kind, or its first page is destroyed"


def open_to_examine(where: str | None, program: str) -> tuple[SqlBook, tuple[Fault, ...]]:
    """Open a book without trusting it; give what is wrong with opening it.

    Raises:
        InputError: when there is none, or it is whole but no book, or one of a later program.
    """
    place = place_of(where)
    faults = _of_the_file(place)
    engine = engine_for(place) if place.file is None else _lenient(place.file)
    if not faults:
        # as strictly as it would be opened to be used
        strict = engine_for(place)
        try:
            with plainly(place.said):
                bring_up_to_date(strict, place.said, create=False, writable=False, as_it_is=True)
        except InputError as problem:
            if not isinstance(problem.__cause__, SQLAlchemyError) and not _lost_its_version(engine):
                engine.dispose()
                raise
            if place.file is not None and _no_room_beside(place.file):
                # SQLite needs a little room of its own even to read; the book is not to blame
                engine.dispose()
                raise InputError(
                    place.said,
                    expected="some room on the disk, to open the book",
                    found="a full disk",
                    do=f"Make room. {NOTHING}",
                ) from problem
            faults = (Fault("the file itself", f"it cannot be opened as a book: {problem.found}"),)
        finally:
            strict.dispose()
    return SqlBook(engine, place.said, clock=utc_now, program=program), faults


def _no_room_beside(file: Path) -> bool:
    return shutil.disk_usage(file.resolve().parent).free < ROOM_BYTES


def _lenient(file: Path) -> Engine:
    """Connect so that a file cut short can still be read where it is whole, and nothing is written."""

    def connect() -> sqlite3.Connection:
        connection = sqlite3.connect(address_of(file, create=False), uri=True, timeout=WAIT_S)
        connection.isolation_level = None
        for setting in LENIENT:
            connection.execute(setting)
        return connection

    engine = create_engine("sqlite+pysqlite://", creator=connect, poolclass=NullPool)

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        # the library would begin nothing before a mere question, and each would see another state of the book
        connection.exec_driver_sql("BEGIN")

    return engine


def _lost_its_version(engine: Engine) -> bool:
    """Return whether a book's own tables are there, and only the one that says which form it has is not."""
    try:
        names = set(inspect(engine).get_table_names())
    except SQLAlchemyError:
        return False
    return VERSION_TABLE not in names and {ENTRIES.name, PIECES.name} <= names


def _of_the_file(place: Place) -> tuple[Fault, ...]:
    if place.file is None:
        return ()
    if not place.file.is_file():
        raise InputError(place.said, expected="a book", found="no such file", do="Give another with --book.")
    with place.file.open("rb") as file:
        begins = file.read(len(SQLITE_BEGINS))
    if not begins:
        raise InputError(place.said, expected="a book", found="an empty file")
    return () if begins == SQLITE_BEGINS else (Fault("the file itself", NOT_A_BOOK),)


def check_file(where: str | None, program: str, progress: Progress) -> Soundness:
    """Look through a book that may be damaged.

    Raises:
        InputError: when there is none.
    """
    book, faults = open_to_examine(where, program)
    try:
        if any(fault.what == NOT_A_BOOK for fault in faults):
            return Soundness(0, 0, 0, 0, (), faults)
        with examining(book) as examiner:
            found = check_book(examiner, progress, known_benches())
    finally:
        book.close()
    return replace(found, faults=(*faults, *found.faults))


def whole_keys(where: str, program: str) -> set[str]:
    """Return the keys of all lines whose text is whole."""
    book, faults = open_to_examine(where, program)
    try:
        if any(fault.what == NOT_A_BOOK for fault in faults):
            return set()
        with examining(book) as examiner:
            return {found.key for found in examiner.lines() if not isinstance(whole_line(found), str)}
    finally:
        book.close()
