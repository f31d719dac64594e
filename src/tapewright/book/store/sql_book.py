"""The book in a database."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any, BinaryIO

from sqlalchemy import Connection, Engine, Select, func, select

from tapewright.book.chains import effective, sort_text, time_of
from tapewright.book.entry import HEX_DIGITS, Entry, Link, MachineOnShelf, NewEntry, key_of
from tapewright.book.kinds import SORTS
from tapewright.book.ports import RawSource
from tapewright.book.signing import BenchKey
from tapewright.book.store import rows, shelf, taking_in
from tapewright.book.store.checkpoint import Checkpoints
from tapewright.book.store.engine import begin_writing
from tapewright.book.store.raw_files import open_raw
from tapewright.book.store.refusals import plainly
from tapewright.book.store.tables import ENTRIES, FILES, LINKS
from tapewright.book.timeline import TimelineLine
from tapewright.errors import InputError

Clock = Callable[[], datetime]
Signer = Callable[[], BenchKey]
#: lines fetched at a time when a whole book is read through
AT_A_TIME = 200


class SqlBook:
    """A book in SQLite or PostgreSQL; safe to use from several threads.

    Args:
        engine: connection to a database that is up to date.
        said: what to call the book in messages.
        clock: gives the time (UTC).
        program: version that is written beside each line.
        file: the SQLite file, None for a server.
        signer: gives the bench's key; None for a book that is only read.
    """

    def __init__(
        self,
        engine: Engine,
        said: str,
        *,
        clock: Clock,
        program: str,
        file: Path | None = None,
        signer: Signer | None = None,
    ) -> None:
        self.engine, self.said = engine, said
        self._clock, self._program, self._signer = clock, program, signer
        self._checkpoints = None if file is None else Checkpoints(engine, file)
        # every question is one statement: on a server, a transaction around it would be two more trips
        alone = engine.dialect.name == "postgresql"
        self._reader = engine.execution_options(isolation_level="AUTOCOMMIT") if alone else engine

    def close(self) -> None:
        """Let go of the database."""
        if self._checkpoints is not None:
            self._checkpoints.close()
        self.engine.dispose()

    # ---- reading

    def machines(self) -> tuple[MachineOnShelf, ...]:
        """Return all machines, by name."""
        with self._reading() as connection:
            return shelf.machines(connection)

    def machine(self, name: str) -> MachineOnShelf:
        """Return the machine of this name or key.

        Raises:
            InputError: when there is none; names those there are.
        """
        with self._reading() as connection:
            return shelf.machine(connection, self.said, name)

    def entries(
        self,
        machine: str,
        *,
        kinds: Sequence[str] = (),
        sort: str | None = None,
        before: int | None = None,
        limit: int | None = None,
    ) -> tuple[Entry, ...]:
        """Return a machine's lines, newest first."""
        wanted = _newest_first(rows.WHOLE, machine, kinds, sort, before, limit)
        with self._reading() as connection:
            return tuple(rows.entry(row, self.said) for row in connection.execute(wanted).mappings())

    def timeline(
        self, machine: str, *, kinds: Sequence[str] = (), before: int | None = None, limit: int | None = None
    ) -> tuple[TimelineLine, ...]:
        """Return a machine's lines in short, newest first."""
        wanted = _newest_first(rows.SHORT, machine, kinds, None, before, limit)
        with self._reading() as connection:
            found = connection.execute(wanted).mappings().all()
            gone = rows.withdrawn_by(connection, [row["key"] for row in found])
            return tuple(rows.timeline_line(row, gone.get(row["key"], "")) for row in found)

    def newest_evidence(self, machine: str) -> Mapping[str, Entry]:
        """Return the newest evidence of each sort there is."""
        newest = select(func.max(ENTRIES.c.place)).where(ENTRIES.c.machine == machine, ENTRIES.c.sort.is_not(None))
        wanted = select(ENTRIES.c.sort, *rows.WHOLE).where(ENTRIES.c.place.in_(newest.group_by(ENTRIES.c.sort)))
        with self._reading() as connection:
            found = {row["sort"]: rows.entry(row, self.said) for row in connection.execute(wanted).mappings()}
        return {sort: found[sort] for sort in SORTS if sort in found}

    def counts(self, machine: str) -> Mapping[str, int]:
        """Return how many lines of each kind there are."""
        wanted = select(ENTRIES.c.kind, func.count()).where(ENTRIES.c.machine == machine).group_by(ENTRIES.c.kind)
        with self._reading() as connection:
            return {row.kind: row[1] for row in connection.execute(wanted)}

    def entry(self, key: str) -> Entry:
        """Return the line with this fingerprint, or with the only one that begins so."""
        wanted = select(*rows.WHOLE).where(ENTRIES.c.key >= key, ENTRIES.c.key <= key.ljust(HEX_DIGITS, "g")).limit(2)
        with self._reading() as connection:
            found = connection.execute(wanted).mappings().all()
        if len(found) != 1 or not key:
            raise InputError(
                self.said,
                expected=f"one line whose fingerprint begins with {key or '...'}",
                found="several" if found else "none",
                do="Give more of it." if found else "",
            )
        return rows.entry(found[0], self.said)

    def naming(self, key: str) -> tuple[Entry, ...]:
        """Return the lines that rest on this one or replace it, oldest first."""
        numbers = select(LINKS.c.number).where(LINKS.c.names == key)
        wanted = select(*rows.WHOLE).where(ENTRIES.c.number.in_(numbers)).order_by(ENTRIES.c.place)
        with self._reading() as connection:
            return tuple(rows.entry(row, self.said) for row in connection.execute(wanted).mappings())

    def arrived(self) -> int:
        """Return how many lines there are."""
        with self._reading() as connection:
            return rows.newest(connection)

    def read_through(self, machine: str | None = None, *, arrived: int | None = None) -> Iterator[Entry]:
        """Return all lines there are now, or those of one machine, oldest first; a few at a time in memory."""
        up_to, after = self.arrived() if arrived is None else arrived, ""
        wanted = select(ENTRIES.c.sorted_by, *rows.WHOLE).where(ENTRIES.c.number <= up_to)
        wanted = wanted.order_by(ENTRIES.c.sorted_by).limit(AT_A_TIME)
        if machine is not None:
            wanted = wanted.where(ENTRIES.c.machine == machine)
        while True:
            with self._reading() as connection:
                page = connection.execute(wanted.where(ENTRIES.c.sorted_by > after)).mappings().all()
            yield from (rows.entry(row, self.said) for row in page)
            if len(page) < AT_A_TIME:
                return
            after = page[-1]["sorted_by"]

    def raw_files(self) -> Mapping[str, int]:
        """Return the fingerprints of all raw files, with their lengths in bytes."""
        with self._reading() as connection:
            return {row.sha256: row.bytes for row in connection.execute(select(FILES.c.sha256, FILES.c.bytes))}

    def raw(self, sha256: str) -> BinaryIO:
        """Open a raw file for reading.

        Raises:
            InputError: when the book has no such file.
        """
        with plainly(self.said):
            return open_raw(self.engine, self.said, sha256)

    # ---- writing

    def write(self, lines: Sequence[NewEntry], files: Mapping[str, RawSource]) -> tuple[Entry, ...]:
        """Write lines and the files they rest on, all or nothing.

        Raises:
            InputError: a file that is not what its fingerprint says or was not given, a line that names one that is not
                there, a machine nobody has added, a name taken, a book that cannot be written.
        """
        key = self._signer() if self._signer else None
        with self._writing() as connection:
            written = []
            for line in lines:
                rows.names_what_is_there(connection, self.said, line)
                written.append(self._put(connection, line, self._clock(), key, files))
        return tuple(written)

    def take_in(self, entries: Iterable[Entry], files: Mapping[str, RawSource]) -> int:
        """Write lines of another book as they stand there, all or nothing; those that are here already are passed over.

        Returns:
            how many are new.

        Raises:
            InputError: a line that is not what its fingerprint says, and all that `write` refuses.
        """
        with self._writing() as connection:
            return taking_in.take_in(connection, self.said, entries, files)

    def _put(
        self,
        connection: Connection,
        new: NewEntry,
        at: datetime,
        key: BenchKey | None,
        files: Mapping[str, RawSource],
    ) -> Entry:
        link = _link(connection, new.machine, key.bench) if key else None
        if link and link.before and (same := self._same(connection, link.before, new, at)):
            return same
        try:
            signature = key.sign(key_of(new, at, self._program, link)) if key else ""
            row = rows.row_of(new, at, self._program, link, signature)
        except ValueError as problem:
            raise InputError(self.said, expected="lines that can be written down", found=str(problem)) from problem
        there = connection.execute(select(*rows.WHOLE).where(ENTRIES.c.key == row["key"])).mappings().first()
        if there is not None:
            return rows.entry(there, self.said)
        shelf.note(connection, self.said, new, row["at"], rename=False)
        return self._placed(connection, row, new, files)

    def _same(self, connection: Connection, before: str, new: NewEntry, at: datetime) -> Entry | None:
        """Return the line before when it is this one: the same words, written at the same moment."""
        found = select(*rows.WHOLE).where(ENTRIES.c.key == before, ENTRIES.c.at == rows.utc(at))
        row = connection.execute(found).mappings().first()
        last = rows.entry(row, self.said) if row else None
        return last if last and (last.new, last.program) == (new, self._program) else None

    def _placed(
        self, connection: Connection, row: dict[str, Any], new: NewEntry, files: Mapping[str, RawSource]
    ) -> Entry:
        """Write a row at its place in the order of time: the last, unless a clock is slow."""
        line = rows.linked(row)
        named = [key for key in (line.before, *line.seen) if key]
        found = select(ENTRIES.c.key, ENTRIES.c.bench, ENTRIES.c.sorted_by).where(ENTRIES.c.key.in_(named))
        times = (
            {each.key: (each.bench or "", time_of(each.sorted_by)) for each in connection.execute(found)}
            if named
            else {}
        )
        row["sorted_by"] = sort_text(line, effective(line, times))
        last = connection.execute(select(func.max(ENTRIES.c.sorted_by))).scalar()
        entry = rows.insert_row(connection, self.said, row, new, files)
        if last is None or last < row["sorted_by"]:
            return entry
        taking_in.put_in_order(connection)
        found = select(*rows.WHOLE).where(ENTRIES.c.key == entry.key)
        return rows.entry(connection.execute(found).mappings().one(), self.said)

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with plainly(self.said), self._reader.connect() as connection:
            yield connection

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        with (
            plainly(self.said),
            self.engine.connect().execution_options(writes=True) as connection,
            connection.begin(),
        ):
            begin_writing(connection)
            yield connection
        if self._checkpoints is not None:
            self._checkpoints.after_write()


def _link(connection: Connection, machine: str, bench: str) -> Link:
    """Return the place of a bench's next line about a machine."""
    of_bench = select(func.max(ENTRIES.c.seq)).where(ENTRIES.c.bench == bench)
    seq = (connection.execute(of_bench).scalar() or 0) + 1
    ends = select(ENTRIES.c.bench, func.max(ENTRIES.c.seq).label("seq"))
    ends = ends.where(ENTRIES.c.machine == machine, ENTRIES.c.bench.is_not(None)).group_by(ENTRIES.c.bench)
    heads = {}
    for end in connection.execute(ends):
        head = select(ENTRIES.c.key).where(
            ENTRIES.c.machine == machine, ENTRIES.c.bench == end.bench, ENTRIES.c.seq == end.seq
        )
        heads[end.bench] = connection.execute(head.order_by(ENTRIES.c.key)).scalars().first()
    before = heads.pop(bench, None)
    return Link(bench, seq, before, tuple(sorted(head for head in heads.values() if head)))


def _newest_first(
    columns: Sequence[Any],
    machine: str,
    kinds: Sequence[str],
    sort: str | None,
    before: int | None,
    limit: int | None,
) -> Select[Any]:
    wanted = select(*columns).where(ENTRIES.c.machine == machine).order_by(ENTRIES.c.place.desc()).limit(limit)
    if sort is not None:
        wanted = wanted.where(ENTRIES.c.sort == sort)
    if kinds and not (sort is not None and tuple(kinds) == ("evidence",)):
        wanted = wanted.where(ENTRIES.c.kind.in_(kinds))
    return wanted if before is None else wanted.where(ENTRIES.c.place < before)
