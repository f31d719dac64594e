"""Look through a book that may be damaged: read what can be read, and say what cannot.

A damaged page of the database spoils a whole reading; then line is asked for after line, so that only those on the
page are lost. Texts are taken as bytes: damaged ones need not be UTF-8.
"""

import hashlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from decimal import Decimal
from typing import Any, BinaryIO

from sqlalchemy import Connection, Engine, inspect, text
from sqlalchemy.exc import SQLAlchemyError

from tapewright.book.entry import Entry
from tapewright.book.soundness import Fault, LineFound
from tapewright.book.store.raw_files import open_stored
from tapewright.book.store.refusals import plainly
from tapewright.book.store.rows import named_by, row_of
from tapewright.book.store.sql_book import SqlBook

AT_A_TIME = 200
COLUMNS = ("machine", "kind", "sort", "at", "by", "says")
#: those of a book with chains
CHAINED = ("replaces", "bench", "seq", "before", "seen", "signature", "place", "sorted_by")
MOST_WORDS = 160


@contextmanager
def examining(book: SqlBook) -> Iterator["Examiner"]:
    """Look through a book as it stands at this moment, whatever others write to it meanwhile."""
    with plainly(book.said), book.engine.connect() as connection:
        if connection.dialect.name != "sqlite":
            connection = connection.execution_options(isolation_level="REPEATABLE READ")
        yield Examiner(connection)


class Examiner:
    """Looks through one book over one connection; takes nothing for granted and changes nothing."""

    def __init__(self, connection: Connection) -> None:
        self._connection, self._sqlite = connection, connection.dialect.name == "sqlite"
        try:
            there = {column["name"] for column in inspect(connection).get_columns("entries")}
        except SQLAlchemyError:
            there = set(CHAINED)
        self._columns = (*COLUMNS, *CHAINED) if "place" in there else COLUMNS

    def of_the_database(self) -> Iterator[Fault]:
        """Ask the database for what it finds wrong with itself."""
        if not self._sqlite:
            return
        for question in ("PRAGMA integrity_check(20)", "PRAGMA foreign_key_check"):
            try:
                found = self._connection.execute(text(question)).all()
            except SQLAlchemyError as problem:
                yield Fault("the file itself", _words(problem))
                continue
            for row in found:
                if tuple(row) != ("ok",):
                    yield Fault("the file itself", " ".join(str(cell) for cell in row)[:MOST_WORDS])

    def lines(self) -> Iterator[LineFound]:
        """Return every line there is, and every one that cannot be read, by number."""
        after, newest = 0, self._newest()
        while newest is None or after < newest:
            page = self._page(after)
            if page is None:
                page = self._one_by_one(after + 1, newest)
                after += AT_A_TIME
                if newest is None and all(line.document is None for line in page):
                    return  # there is no count to go by, and nothing more to be had
                yield from page
            else:
                yield from page
                if len(page) < AT_A_TIME:
                    return
                after = page[-1].number

    def raw_files(self) -> Mapping[str, int]:
        """Return the raw files there are with their lengths; none when even that cannot be read."""
        found = self._rows("SELECT sha256, bytes FROM files")
        return {str(sha256): length if isinstance(length, int) else 0 for sha256, length in found or ()}

    def only(self, files: Mapping[str, int]) -> "WholeFiles":
        """Return these raw files for reading."""
        return WholeFiles(self._connection.engine, files)

    def raw_fault(self, sha256: str, length: int) -> str:
        """Say what is wrong with a raw file; empty when it is what its name says."""
        digest, found, place = hashlib.sha256(), 0, 0
        one = text("SELECT piece FROM pieces WHERE sha256 = :sha256 AND place = :place")
        try:
            while True:
                piece = self._connection.execute(one, {"sha256": sha256, "place": place}).scalar()
                if piece is None:
                    break
                piece = piece.encode() if isinstance(piece, str) else bytes(piece)
                digest.update(piece)
                found, place = found + len(piece), place + 1
        except SQLAlchemyError as problem:
            return f"it cannot be read: {_words(problem)}"
        if found != length:
            return f"{found} bytes of {length} are there"
        return "" if digest.hexdigest() == sha256 else "it is not what its name says: it was altered or damaged"

    def shelf(self) -> Sequence[tuple[str, str, str, int]]:
        """Return key, name, model and number of lines of each machine; none when that cannot be read."""
        found = self._rows("SELECT key, name, model, entries FROM machines ORDER BY folded")
        return [
            (str(key), str(name), str(model), count if isinstance(count, int) else 0)
            for key, name, model, count in found or ()
        ]

    def beside(self, entry: Entry, found: LineFound) -> Iterator[str]:
        """Say where what stands beside a line for looking up is not what the line itself says."""
        for name, value in row_of(entry.new, entry.at, entry.program, entry.link, entry.signature).items():
            if name in found.columns and found.columns[name] != (None if value is None else str(value)):
                yield f"it is filed under {name} {found.columns[name]!r}, and says {value!r}"

    def links(self) -> Callable[[Entry, int], Iterator[str]]:
        """Return what says where the lists of lines and raw files that a line names are not what it says."""
        lines = self._pairs("SELECT number, names FROM links")
        files = self._pairs("SELECT number, sha256 FROM files_of_entries")

        def faults(entry: Entry, number: int) -> Iterator[str]:
            if lines is not None and lines.get(number, set()) != set(named_by(entry.new)):
                yield "the list of lines it names is not what it says"
            if files is not None and files.get(number, set()) != set(entry.new.files):
                yield "the list of raw files it rests on is not what it says"

        return faults

    def _newest(self) -> int | None:
        """Return how many lines there should be, by the larger of two counts; None when neither can be had."""
        asked = [self._rows(q) for q in ("SELECT max(number) FROM entries", "SELECT sum(entries) FROM machines")]
        counts = [int(found[0][0]) for found in asked if found and isinstance(found[0][0], int | Decimal)]
        return max(counts) if counts else 0 if any(asked) else None

    def _page(self, after: int) -> list[LineFound] | None:
        question = f"{self._select()} WHERE number > :after ORDER BY number LIMIT {AT_A_TIME}"
        found = self._rows(question, after=after)
        return None if found is None else [self._line(row) for row in found]

    def _one(self, number: int) -> LineFound | None:
        found = self._rows(f"{self._select()} WHERE number = :number", number=number)
        if found is None:
            return LineFound(number, "", None, {}, "it lies on a damaged page")
        return self._line(found[0]) if found else None

    def _one_by_one(self, first: int, newest: int | None) -> list[LineFound]:
        last = first + AT_A_TIME - 1 if newest is None else min(first + AT_A_TIME - 1, newest)
        found = (self._one(number) for number in range(first, last + 1))
        return [line for line in found if line is not None]

    def _line(self, row: Sequence[Any]) -> LineFound:
        number, key, document, *columns = row
        found = {name: _text(value) for name, value in zip(self._columns, columns, strict=True)}
        return LineFound(int(number), _text(key) or "", _bytes(document), found)

    def _select(self) -> str:
        names = ("key", "document", *self._columns)
        if self._sqlite:
            return "SELECT number, " + ", ".join(f'CAST("{name}" AS BLOB)' for name in names) + " FROM entries"
        return "SELECT number, " + ", ".join(f'"{name}"' for name in names) + " FROM entries"

    def _rows(self, question: str, **values: Any) -> list[Any] | None:
        """Return the answer; None when the database cannot give one."""
        try:
            return list(self._connection.execute(text(question), values).all())
        except (SQLAlchemyError, UnicodeDecodeError, ValueError, OverflowError):
            return None

    def _pairs(self, question: str) -> dict[int, set[str]] | None:
        found = self._rows(question)
        if found is None:
            return None
        pairs: dict[int, set[str]] = {}
        for number, name in found:
            if isinstance(number, int):  # a damaged cell may hold anything
                pairs.setdefault(number, set()).add(str(name))
        return pairs


class WholeFiles:
    """Raw files of a damaged book that were found whole."""

    def __init__(self, engine: Engine, files: Mapping[str, int]) -> None:
        self._engine, self._files = engine, files

    def raw_files(self) -> Mapping[str, int]:
        """Return them with their lengths."""
        return self._files

    def raw(self, sha256: str) -> BinaryIO:
        """Open one."""
        return open_stored(self._engine, sha256, self._files[sha256])


def _bytes(value: Any) -> bytes | None:
    return value.encode() if isinstance(value, str) else None if value is None else bytes(value)


def _text(value: Any) -> str | None:
    if isinstance(value, int):
        return str(value)
    return value if isinstance(value, str) or value is None else bytes(value).decode("utf-8", "replace")


def _words(problem: SQLAlchemyError) -> str:
    return " ".join(str(getattr(problem, "orig", None) or problem).split())[:MOST_WORDS]
