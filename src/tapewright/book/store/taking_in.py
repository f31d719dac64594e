"""Lines of another book, taken in a page at a time: few trips to the database for many lines.

Picture:

    lines --page of 200--> those that are not here yet --> machines, entries, raw files, links
"""

from collections.abc import Iterable, Iterator, Mapping
from itertools import islice
from typing import Any

from sqlalchemy import Connection, bindparam, insert, select, update

from tapewright.book.chains import in_order
from tapewright.book.entry import Entry, NewEntry
from tapewright.book.ports import RawSource
from tapewright.book.store import shelf
from tapewright.book.store.raw_files import store
from tapewright.book.store.rows import linked, named_by, newest, row_of
from tapewright.book.store.tables import ENTRIES, FILES, FILES_OF_ENTRIES, LINKS, MACHINES
from tapewright.errors import InputError

PAGE = 200
Row = dict[str, Any]


def take_in(connection: Connection, said: str, entries: Iterable[Entry], files: Mapping[str, RawSource]) -> int:
    """Write the lines that are not here yet, in their order; give how many they were.

    Args:
        connection: an open transaction, the only writer.
        said: what to call the book.
        entries: lines as they stand in the other book.
        files: raw files that come with them.

    Raises:
        InputError: a line that is not what its fingerprint says, a raw file that is missing or another, a machine
            without its identity.
    """
    taken, lines = 0, iter(entries)
    number = newest(connection)
    while page := list(islice(lines, PAGE)):
        fresh = _not_here(connection, [(_row(entry, said), entry.new) for entry in page])
        numbered = [
            ({"number": number + n, "place": number + n, "sorted_by": "", **row}, new)
            for n, (row, new) in enumerate(fresh, start=1)
        ]
        _count(connection, said, numbered)
        if numbered:
            connection.execute(insert(ENTRIES), [row for row, _ in numbered])
        _files(connection, said, numbered, files)
        if links := [{"number": row["number"], "names": key} for row, new in numbered for key in named_by(new)]:
            connection.execute(insert(LINKS), links)
        number, taken = number + len(numbered), taken + len(numbered)
    if taken:
        put_in_order(connection)
        shelf.name_anew(connection, said)
    return taken


def put_in_order(connection: Connection) -> None:
    """Give every line its place: the same lines stand in the same order, however they came (see chains.py)."""
    columns = (ENTRIES.c.number, ENTRIES.c.key, ENTRIES.c.at, ENTRIES.c.bench, ENTRIES.c.seq, ENTRIES.c.before,
               ENTRIES.c.seen, ENTRIES.c.place, ENTRIES.c.sorted_by)  # fmt: skip
    there = {row["key"]: row for row in connection.execute(select(*columns)).mappings()}
    order = in_order([linked(row) for row in there.values()])
    moved = [
        {"of": there[key]["number"], "stands": place, "sorted": order[key]}
        for place, key in enumerate(sorted(order, key=order.__getitem__), start=1)
        if (there[key]["place"], there[key]["sorted_by"]) != (place, order[key])
    ]
    if moved:
        put = update(ENTRIES).where(ENTRIES.c.number == bindparam("of"))
        connection.execute(put.values(place=bindparam("stands"), sorted_by=bindparam("sorted")), moved)


def _row(entry: Entry, said: str) -> Row:
    try:
        row = row_of(entry.new, entry.at, entry.program, entry.link, entry.signature)
    except ValueError as problem:
        raise InputError(said, expected="lines that can be written down", found=str(problem)) from problem
    if row["key"] != entry.key:
        raise InputError(
            f"line {entry.key}",
            expected="a line that is what its fingerprint says",
            found="another text",
            do="It was altered or damaged; nothing was taken in.",
        )
    return row


def _not_here(connection: Connection, page: list[tuple[Row, NewEntry]]) -> list[tuple[Row, NewEntry]]:
    """Leave out what the book has already, and what stands in the page twice."""
    by_key = {row["key"]: (row, new) for row, new in reversed(page)}
    here = set(connection.execute(select(ENTRIES.c.key).where(ENTRIES.c.key.in_(by_key))).scalars())
    return [by_key[key] for key in dict.fromkeys(row["key"] for row, _ in page) if key not in here]


def _count(connection: Connection, said: str, page: list[tuple[Row, NewEntry]]) -> None:
    """Bring the shelf up to date: identities one by one, all other lines as a number a machine.

    A machine must stand on the shelf before its other lines do.
    """
    known: set[str] = set()
    for row, new in page:
        if new.kind == "identity" or new.machine not in known:
            shelf.note(connection, said, new, row["at"], rename=True)
            row["counted"] = True
        known.add(new.machine)
    for machine, lines in _by_machine(page):
        more = sum(not row.pop("counted", False) for row in lines)
        values = {"entries": MACHINES.c.entries + more, "last_at": lines[-1]["at"]}
        connection.execute(update(MACHINES).where(MACHINES.c.key == machine).values(**values))


def _by_machine(page: list[tuple[Row, NewEntry]]) -> Iterator[tuple[str, list[Row]]]:
    for machine in dict.fromkeys(new.machine for _, new in page):
        yield machine, [row for row, new in page if new.machine == machine]


def _files(connection: Connection, said: str, page: list[tuple[Row, NewEntry]], files: Mapping[str, RawSource]) -> None:
    pairs = [{"number": row["number"], "sha256": s} for row, new in page for s in dict.fromkeys(new.files)]
    for sha256 in dict.fromkeys(pair["sha256"] for pair in pairs):
        if sha256 in files:
            store(connection, said, sha256, files[sha256])
        elif connection.execute(select(FILES.c.sha256).where(FILES.c.sha256 == sha256)).first() is None:
            raise InputError(said, expected=f"the raw file {sha256} with the line that rests on it", found="none")
    if pairs:
        connection.execute(insert(FILES_OF_ENTRIES), pairs)
