"""What a book outlives: SIGKILL, two writers, a full disk, a disk that may not be written.

The long runs are benchmarks/book_kill.py and benchmarks/book_two_writers.py; the same code runs here, shorter.
"""

import contextlib
import hashlib
import io
import os
import resource
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from sqlalchemy import event

from tapewright.book.entry import NewEntry, key_of
from tapewright.book.store.open import open_book
from tapewright.errors import InputError
from tapewright.terminal.run import run

ROOT = Path(__file__).parents[3]
PETREL = "a" * 32
DISK_BYTES = 3 * 1024 * 1024


def note(text):
    return NewEntry(PETREL, "note", {"text": text})


def run_benchmark(name, *words):
    done = subprocess.run([sys.executable, ROOT / "benchmarks" / name, *words], capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.mark.slow
def test_killed_writers_lose_nothing_that_was_acknowledged(where):
    said = run_benchmark("book_kill.py", "--kills", "12", "--where", where, "--seed", str(os.getpid()))
    # the run must have written something, or it shows nothing
    assert int(said.split(" lines acknowledged")[0].split()[-1]) > 5, said


@pytest.mark.slow
def test_two_writers_lose_nothing(where):
    assert "200 records" in run_benchmark("book_two_writers.py", "--records", "100", "--where", where)


@contextlib.contextmanager
def small_disk(folder):
    """A disk of its own where we may mount one; else a limit on the length of any file."""
    folder.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={DISK_BYTES}", "tmpfs", folder], capture_output=True)
    if mounted.returncode == 0:
        try:
            yield folder
        finally:
            subprocess.run(["umount", "-l", folder], check=True)
        return
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (DISK_BYTES, before[1]))
    try:
        yield folder
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        signal.signal(signal.SIGXFSZ, handler)


def fill_until_refused(book):
    acknowledged = []
    while len(acknowledged) < 10_000:
        try:
            acknowledged.append(book.write([note(f"{len(acknowledged)} " + "x" * 20_000)], {})[0].key)
        except InputError as refused:
            return acknowledged, str(refused)
    raise AssertionError("the disk was never full")


def test_a_full_disk_refuses_and_keeps(tmp_path):
    with small_disk(tmp_path / "disk") as folder:
        file = folder / "workshop.book"
        book = open_book(str(file))
        book.write([NewEntry(PETREL, "identity", {"name": "Petrel"})], {})
        acknowledged, refused = fill_until_refused(book)
        assert "full disk" in refused or "disk that refuses" in refused
        assert "Nothing of this was written" in refused
        assert len(acknowledged) > 10
        assert [e.key for e in book.read_through()][1:] == acknowledged
        # another program that opens it now reads it all
        assert run(["machine", "list", "--book", str(file)]) == 0
        assert run(["book", "check", "--book", str(file)]) == 0
        book.close()
        with contextlib.closing(sqlite3.connect(file)) as raw:
            assert raw.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        # the journal belongs to the book: on the full disk it could not be worked in
        keep = {path.name: path.read_bytes() for path in folder.iterdir() if not path.name.endswith("-shm")}
    roomy = tmp_path / "roomy"
    roomy.mkdir()
    for name, content in keep.items():
        (roomy / name).write_bytes(content)
    book = open_book(str(roomy / "workshop.book"))
    assert [e.key for e in book.read_through()][1:] == acknowledged
    assert all(key_of(e.new, e.at, e.program, e.link) == e.key for e in book.read_through())
    book.write([note("room again")], {})
    book.close()


def test_a_disk_that_cannot_be_written_can_be_read(tmp_path):
    folder = tmp_path / "disk"
    folder.mkdir()
    file = folder / "workshop.book"
    book = open_book(str(file))
    book.write([NewEntry(PETREL, "identity", {"name": "Petrel"}), note("here")], {})
    book.close()
    with read_only(folder):
        book = open_book(str(file))
        assert [e.new.kind for e in book.entries(PETREL)] == ["note", "identity"]
        with pytest.raises(InputError, match="only be read"):
            book.write([note("no")], {})
        book.close()
        assert run(["machine", "show", "Petrel", "--book", str(file)]) == 0
        assert run(["machine", "log", "Petrel", "note", "text=no", "--book", str(file)]) == 4
        with pytest.raises((InputError, OSError)):
            open_book(str(folder / "new.book"))
    book = open_book(str(file))
    book.write([note("yes")], {})
    assert book.machine("Petrel").entries == 3
    book.close()


def test_a_read_only_disk_with_a_journal_left_over_loses_nothing(tmp_path):
    """A program was killed, then the disk went read-only: what was acknowledged stands in the journal alone."""
    folder = tmp_path / "disk"
    folder.mkdir()
    file = folder / "workshop.book"
    book = open_book(str(file))
    book.write([NewEntry(PETREL, "identity", {"name": "Petrel"}), note("here")], {})
    wal = file.with_name(file.name + "-wal")
    copies = {path: path.read_bytes() for path in (file, wal, file.with_name(file.name + "-shm"))}
    assert len(copies[wal]) > 0
    book.close()
    for path, content in copies.items():
        path.write_bytes(content)
    with read_only(folder):
        book = open_book(str(file))
        assert [e.new.kind for e in book.entries(PETREL)] == ["note", "identity"]
        book.close()


@contextlib.contextmanager
def read_only(folder):
    """Mount the folder read-only where we may; else take away the right to write."""
    if os.geteuid() == 0:
        subprocess.run(["mount", "--bind", folder, folder], check=True)
        subprocess.run(["mount", "-o", "remount,ro,bind", folder], check=True)
        try:
            yield
        finally:
            subprocess.run(["umount", "-l", folder], check=True)
        return
    paths = [folder, *folder.iterdir()]
    for path in paths:
        path.chmod(0o555 if path.is_dir() else 0o444)
    try:
        yield
    finally:
        for path in paths:
            path.chmod(0o755)


def test_what_the_pages_ask_for_is_found_by_an_index(tmp_path):
    """An answer that goes through a whole table would grow slower with the book (sqlite.org, "EXPLAIN QUERY PLAN")."""
    book = open_book(str(tmp_path / "workshop.book"))
    book.write([NewEntry(PETREL, "identity", {"name": "Petrel"}), note("x")], {})
    asked = []

    @event.listens_for(book.engine, "before_cursor_execute")
    def hear(connection, cursor, text, values, *_):
        asked.append((text, values))

    key = book.entries(PETREL, limit=1)[0].key
    for ask in (
        lambda: book.machine("Petrel"),
        lambda: book.entries(PETREL, limit=50),
        lambda: book.entries(PETREL, kinds=("recheck", "note"), limit=50),
        lambda: book.timeline(PETREL, before=9, limit=50),
        lambda: book.newest_evidence(PETREL),
        lambda: book.counts(PETREL),
        lambda: book.entry(key[:8]),
        lambda: book.naming(key),
        lambda: list(book.read_through(PETREL)),
    ):
        ask()
    with contextlib.closing(sqlite3.connect(tmp_path / "workshop.book")) as raw:
        for text, values in asked:
            if text.lstrip().startswith("SELECT"):
                plan = [row[3] for row in raw.execute(f"EXPLAIN QUERY PLAN {text}", values)]
                assert not [step for step in plan if step.startswith("SCAN")], (text, plan)
    assert len(asked) > 9
    book.close()


def test_a_server_that_goes_away_in_the_middle_leaves_all_or_nothing(postgres):
    book = open_book(str(postgres.new_database()))
    book.write([NewEntry(PETREL, "identity", {"name": "Petrel", "model": "Petrel"}), note("before")], {})
    content = bytes(range(256)) * 20_000  # more than one piece
    sha256 = hashlib.sha256(content).hexdigest()
    line = NewEntry(PETREL, "note", {"text": "with a file"}, files=(sha256,))

    class GoesAway(io.BytesIO):
        def read(self, size=-1):
            if self.tell():
                postgres.cut_all_off()
            return super().read(size)

    with pytest.raises(InputError, match=r"server that stays until it has answered.* whole, or not at all"):
        book.write([line], {sha256: lambda: GoesAway(content)})
    assert [entry.new.body.get("text") for entry in book.entries(PETREL)] == ["before", None]
    assert book.raw_files() == {}
    book.write([line], {sha256: lambda: io.BytesIO(content)})
    assert [entry.number for entry in book.entries(PETREL)] == [3, 2, 1]
    with book.raw(sha256) as stream:
        assert stream.read() == content
    book.close()
