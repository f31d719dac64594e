"""An entry as a row: the bytes its fingerprint was taken of, with columns to look it up by."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, RowMapping, func, insert, select

from tapewright.book.chains import Linked
from tapewright.book.entry import Entry, Link, NewEntry, canonical, key_of, read_canonical
from tapewright.book.ports import RawSource
from tapewright.book.standing import may_withdraw, withdrawn_words
from tapewright.book.store.raw_files import store
from tapewright.book.store.tables import ENTRIES, FILES, FILES_OF_ENTRIES, LINKS
from tapewright.book.timeline import TimelineLine, in_short, printable, sort_of
from tapewright.errors import InputError

#: what a reader calls the number of a line is its place; the column `number` says in which order lines came here
PLACE = ENTRIES.c.place.label("place")
#: lines asked for in one go
AT_A_TIME = 500
WHOLE = (PLACE, ENTRIES.c.key, ENTRIES.c.document, ENTRIES.c.signature)
SHORT = (PLACE, ENTRIES.c.key, ENTRIES.c.kind, ENTRIES.c.sort, ENTRIES.c.at, ENTRIES.c.by, ENTRIES.c.says)


def row_of(new: NewEntry, at: datetime, program: str, link: Link | None, signature: str) -> dict[str, Any]:
    """Return all columns but those that say where the line stands among the others.

    Raises:
        ValueError: when the body holds what JSON cannot.
    """
    return {
        "key": key_of(new, at, program, link),
        "machine": new.machine,
        "kind": new.kind,
        "sort": sort_of(new),
        "at": utc(at),
        "by": printable(new.by),
        "says": in_short(new),
        "replaces": new.replaces,
        "bench": link.bench if link else None,
        "seq": link.seq if link else None,
        "before": link.before if link else None,
        "seen": " ".join(link.seen) if link else None,
        "signature": signature or None,
        "document": canonical(new, at, program, link).decode(),
    }


def insert_row(
    connection: Connection, said: str, row: Mapping[str, Any], new: NewEntry, files: Mapping[str, RawSource]
) -> Entry:
    """Write a row under the next number, with its raw files and links; the transaction must be the only writer.

    Raises:
        InputError: when a raw file is neither given nor there.
    """
    number = newest(connection) + 1
    connection.execute(insert(ENTRIES).values(number=number, place=number, **row))
    for sha256 in dict.fromkeys(new.files):
        if sha256 in files:
            store(connection, said, sha256, files[sha256])
        elif connection.execute(select(FILES.c.sha256).where(FILES.c.sha256 == sha256)).first() is None:
            raise InputError(said, expected=f"the raw file {sha256} with the line that rests on it", found="none")
        connection.execute(insert(FILES_OF_ENTRIES).values(number=number, sha256=sha256))
    for key in named_by(new):
        connection.execute(insert(LINKS).values(number=number, names=key))
    return entry({"place": number, **row}, said)


def names_what_is_there(connection: Connection, said: str, new: NewEntry) -> None:
    """See that all lines this one names are in the book.

    Raises:
        InputError: when one is not.
    """
    for key in named_by(new):
        row = connection.execute(select(ENTRIES.c.document).where(ENTRIES.c.key == key)).scalar()
        if row is None:
            raise InputError(said, expected=f"the line {key}, which a new line names", found="no such line")
        if key == new.replaces:
            _may_withdraw(said, new, read_canonical(row.encode())[0])


def _may_withdraw(said: str, new: NewEntry, old: NewEntry) -> None:
    """See that a line may withdraw another, and says why and who does it."""
    if not may_withdraw(new, old):
        was = f"{old.kind}, {old.body.get('sort')}" if old.kind == "evidence" else old.kind
        raise InputError(
            said,
            place=f"a line of kind {new.kind!r}",
            expected="one of the same machine, kind and sort as the line that it withdraws",
            found=was,
            do="Nothing was written.",
        )
    if not new.reason.strip() or not new.by.strip():
        raise InputError(
            said,
            place=f"a line of kind {new.kind!r}",
            expected="a reason and a name where it withdraws another",
            found="no reason" if not new.reason.strip() else "no name",
            do="Nothing was written.",
        )


def entry(row: Mapping[str, Any] | RowMapping, said: str) -> Entry:
    """Read a row.

    Raises:
        InputError: when its document cannot be read.
    """
    try:
        new, at, program, link = read_canonical(row["document"].encode())
    except ValueError as problem:
        raise InputError(
            said,
            place=f"line {row['place']}",
            expected="a line that is whole",
            found=str(problem),
            do="The book is damaged; restore the last backup.",
        ) from problem
    return Entry(row["place"], row["key"], at, program, new, link, row["signature"] or "")


def withdrawn_by(connection: Connection, keys: Sequence[str]) -> dict[str, str]:
    """Return which of some lines were withdrawn, with when, by whom and why."""
    old, new = ENTRIES.alias("old"), ENTRIES.alias("new")
    found = select(new.c.replaces, new.c.document).join_from(new, old, new.c.replaces == old.c.key)
    found = found.where(new.c.machine == old.c.machine, new.c.kind == old.c.kind)
    found = found.where(func.coalesce(new.c.sort, "") == func.coalesce(old.c.sort, "")).order_by(new.c.place.desc())
    words = {}
    for begin in range(0, len(keys), AT_A_TIME):
        for row in connection.execute(found.where(new.c.replaces.in_(keys[begin : begin + AT_A_TIME]))).mappings():
            line, at, _, _ = read_canonical(row["document"].encode())
            words[row["replaces"]] = withdrawn_words(at, line)
    return words


def timeline_line(row: RowMapping, withdrawn: str = "") -> TimelineLine:
    """Read a row without its document."""
    at = datetime.fromisoformat(row["at"])
    return TimelineLine(row["place"], row["key"], row["kind"], row["sort"], at, row["by"], row["says"], withdrawn)


def newest(connection: Connection) -> int:
    """Return how many lines there are: the number of the line that came last."""
    return connection.execute(select(func.max(ENTRIES.c.number))).scalar() or 0


def linked(row: Mapping[str, Any] | RowMapping) -> Linked:
    """Return what of a row its place depends on."""
    seen = tuple((row["seen"] or "").split())
    return Linked(
        row["key"], datetime.fromisoformat(row["at"]), row["bench"] or "", row["seq"] or 0, row["before"], seen
    )


def named_by(new: NewEntry) -> tuple[str, ...]:
    """Return the keys of the lines that this one rests on or replaces, each once."""
    return tuple(dict.fromkeys([*new.rests_on, *([new.replaces] if new.replaces else [])]))


def utc(at: datetime) -> str:
    """Return a time as a column holds it."""
    return at.astimezone(UTC).isoformat(timespec="microseconds")
