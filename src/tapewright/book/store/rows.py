"""An entry as a row: the bytes its fingerprint was taken of, with columns to look it up by."""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, RowMapping, func, insert, select

from tapewright.book.entry import Entry, NewEntry, canonical, key_of, read_canonical
from tapewright.book.ports import RawSource
from tapewright.book.store.raw_files import store
from tapewright.book.store.tables import ENTRIES, FILES, FILES_OF_ENTRIES, LINKS
from tapewright.book.timeline import TimelineLine, in_short, printable, sort_of
from tapewright.errors import InputError

WHOLE = (ENTRIES.c.number, ENTRIES.c.key, ENTRIES.c.document)
SHORT = (ENTRIES.c.number, ENTRIES.c.key, ENTRIES.c.kind, ENTRIES.c.sort, ENTRIES.c.at, ENTRIES.c.by, ENTRIES.c.says)


def row_of(new: NewEntry, at: datetime, program: str) -> dict[str, Any]:
    """Return all columns but the number.

    Raises:
        ValueError: when the body holds what JSON cannot.
    """
    return {
        "key": key_of(new, at, program),
        "machine": new.machine,
        "kind": new.kind,
        "sort": sort_of(new),
        "at": _utc(at),
        "by": printable(new.by),
        "says": in_short(new),
        "document": canonical(new, at, program).decode(),
    }


def insert_row(
    connection: Connection, said: str, row: Mapping[str, Any], new: NewEntry, files: Mapping[str, RawSource]
) -> Entry:
    """Write a row under the next number, with its raw files and links; the transaction must be the only writer.

    Raises:
        InputError: when a raw file is neither given nor there.
    """
    number = (connection.execute(select(func.max(ENTRIES.c.number))).scalar() or 0) + 1
    connection.execute(insert(ENTRIES).values(number=number, **row))
    for sha256 in dict.fromkeys(new.files):
        if sha256 in files:
            store(connection, said, sha256, files[sha256])
        elif connection.execute(select(FILES.c.sha256).where(FILES.c.sha256 == sha256)).first() is None:
            raise InputError(said, expected=f"the raw file {sha256} with the line that rests on it", found="none")
        connection.execute(insert(FILES_OF_ENTRIES).values(number=number, sha256=sha256))
    for key in named_by(new):
        connection.execute(insert(LINKS).values(number=number, names=key))
    return entry({"number": number, **row}, said)


def names_what_is_there(connection: Connection, said: str, new: NewEntry) -> None:
    """See that all lines this one names are in the book.

    Raises:
        InputError: when one is not.
    """
    for key in named_by(new):
        if connection.execute(select(ENTRIES.c.number).where(ENTRIES.c.key == key)).first() is None:
            raise InputError(said, expected=f"the line {key}, which a new line names", found="no such line")


def entry(row: Mapping[str, Any] | RowMapping, said: str) -> Entry:
    """Read a row.

    Raises:
        InputError: when its document cannot be read.
    """
    try:
        new, at, program = read_canonical(row["document"].encode())
    except ValueError as problem:
        raise InputError(
            said,
            place=f"line {row['number']}",
            expected="a line that is whole",
            found=str(problem),
            do="The book is damaged; restore the last backup.",
        ) from problem
    return Entry(row["number"], row["key"], at, program, new)


def timeline_line(row: RowMapping) -> TimelineLine:
    """Read a row without its document."""
    at = datetime.fromisoformat(row["at"])
    return TimelineLine(row["number"], row["key"], row["kind"], row["sort"], at, row["by"], row["says"])


def named_by(new: NewEntry) -> tuple[str, ...]:
    """Return the keys of the lines that this one rests on or replaces, each once."""
    return tuple(dict.fromkeys([*new.rests_on, *([new.replaces] if new.replaces else [])]))


def _utc(at: datetime) -> str:
    return at.astimezone(UTC).isoformat(timespec="microseconds")
