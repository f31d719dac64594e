"""Backup while others write, restore whole or not at all, and nothing lost without a clear yes."""

import os
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing

import pytest

from fakes.bundles import HERON, PETREL, book_with_two_machines, everything, exported
from tapewright.book.back_up import back_up, restore, sweep
from tapewright.book.carrying import check_the_book, shelf_of
from tapewright.book.entry import NewEntry
from tapewright.book.store.open import open_book
from tapewright.errors import InputError, WrongUseError


def backup(book, to, *, overwrite=False):
    return back_up(shelf_of(str(book)), to, lambda _: None, overwrite=overwrite)


def put_back(book, file, *, yes=False):
    return restore(shelf_of(str(book), backup=file), file, lambda _: None, yes=yes)


def contents(where):
    with closing(open_book(str(where), create=False)) as book:
        return everything(book)


def note(book, text, machine=HERON):
    book.write([NewEntry(machine, "note", {"text": text})], {})


def flip(file, word):
    data = bytearray(file.read_bytes())
    data[data.find(word)] ^= 1
    file.write_bytes(data)


@pytest.fixture
def a(tmp_path):
    with closing(book_with_two_machines(tmp_path / "a.book")):
        pass
    return tmp_path / "a.book"


def test_a_backup_is_a_book_and_one_file(a, tmp_path):
    done = backup(a, tmp_path / "copy.book")
    assert (done.form, done.found.lines, done.found.raw_files) == ("copy", 5, 2)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.book", "copy.book"]
    # outside check: SQLite's own integrity check by its own library
    with closing(sqlite3.connect(tmp_path / "copy.book")) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert contents(tmp_path / "copy.book") == contents(a)


def test_a_backup_while_others_write_is_the_book_of_one_moment(a, tmp_path):
    stop, written, problems = threading.Event(), [], []

    def write():
        try:
            with closing(open_book(str(a))) as book:
                while not stop.is_set():
                    note(book, f"{len(written)} " + "word " * 500)
                    written.append(1)
        except Exception as problem:
            problems.append(problem)

    writer = threading.Thread(target=write)
    writer.start()
    try:
        counts = []
        for n in range(6):
            before = len(written)
            backup(a, tmp_path / f"{n}.book")
            counts.append((before, len(contents(tmp_path / f"{n}.book")[0]) - 5, len(written)))
    finally:
        stop.set()
        writer.join()
    assert problems == []
    assert len(written) > 6
    for before, copied, after in counts:
        # what was acknowledged before is in it; what is in it was written before it ended (one may be under way)
        assert before <= copied <= after + 1
    everything_now = contents(a)[0]
    assert contents(tmp_path / "3.book")[0] == everything_now[: counts[3][1] + 5]


def test_a_backup_is_not_written_over_another_unless_asked(a, tmp_path):
    backup(a, tmp_path / "copy.book")
    with pytest.raises(InputError, match="a name that is free"):
        backup(a, tmp_path / "copy.book")
    with closing(open_book(str(a))) as book:
        note(book, "more")
    backup(a, tmp_path / "copy.book", overwrite=True)
    assert contents(tmp_path / "copy.book") == contents(a)


def test_a_damaged_book_gives_no_backup(a, tmp_path):
    flip(a, b'"text":"in order"')
    with pytest.raises(InputError, match="No backup was written"):
        backup(a, tmp_path / "copy.book")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.book"]


def test_restore_where_there_is_no_book(a, tmp_path):
    backup(a, tmp_path / "copy.book")
    done = put_back(tmp_path / "new/b.book", tmp_path / "copy.book")
    assert (done.gone, done.kept) == (0, None)
    assert contents(tmp_path / "new/b.book") == contents(a)


def test_a_journal_left_over_from_a_lost_book_is_not_taken_for_the_new_ones(a, tmp_path):
    backup(a, tmp_path / "copy.book")
    was = contents(a)
    with closing(open_book(str(a))) as book:
        note(book, "only in the journal")
        journal = (tmp_path / "a.book-wal").read_bytes()
    a.unlink()
    (tmp_path / "a.book-wal").write_bytes(journal)
    done = put_back(a, tmp_path / "copy.book")
    assert contents(a) == was
    assert done.kept.with_name(done.kept.name + "-wal").read_bytes() == journal


def test_restore_over_an_older_state_of_the_same_book(a, tmp_path):
    old = a.read_bytes()
    with closing(open_book(str(a))) as book:
        note(book, "later")
    now = contents(a)
    backup(a, tmp_path / "copy.book")
    a.write_bytes(old)
    assert put_back(a, tmp_path / "copy.book").kept is None
    assert contents(a) == now


def test_a_book_that_holds_more_is_kept_unless_yes_is_said(a, tmp_path):
    backup(a, tmp_path / "copy.book")
    was = contents(a)
    with closing(open_book(str(a))) as book:
        note(book, "later")
    more = contents(a)
    with pytest.raises(WrongUseError, match=r"holds 1 line that .* lacks; it was left as it is"):
        put_back(a, tmp_path / "copy.book")
    assert contents(a) == more
    done = put_back(a, tmp_path / "copy.book", yes=True)
    assert contents(a) == was
    assert done.gone == 1
    assert contents(done.kept) == more


def test_a_restore_is_seen_by_those_who_have_the_book_open(a, tmp_path):
    backup(a, tmp_path / "copy.book")
    with closing(open_book(str(a))) as open_already:
        note(open_already, "later")
        put_back(a, tmp_path / "copy.book", yes=True)
        assert len(list(open_already.read_through())) == 5
        note(open_already, "after")
        assert len(list(open_already.read_through())) == 6
    assert check_the_book(str(a), lambda _: None)[0].faults == ()


@pytest.mark.parametrize("damage", ["flip", "cut", "first page"])
def test_a_damaged_book_is_put_aside_not_overwritten(a, tmp_path, damage):
    backup(a, tmp_path / "copy.book")
    was = contents(a)
    data = a.read_bytes()
    if damage == "flip":
        flip(a, b'"text":"in order"')
    else:
        a.write_bytes(data[: len(data) // 2] if damage == "cut" else bytes(4096) + data[4096:])
    damaged = a.read_bytes()
    done = put_back(a, tmp_path / "copy.book")
    assert contents(a) == was
    assert done.kept.read_bytes() == damaged


def test_whole_lines_of_a_damaged_book_that_the_backup_lacks_need_a_yes(a, tmp_path):
    backup(a, tmp_path / "copy.book")
    with closing(open_book(str(a))) as book:
        note(book, "later")
    flip(a, b'"text":"in order"')
    with pytest.raises(WrongUseError, match="--whole-only from a damaged book"):
        put_back(a, tmp_path / "copy.book")


@pytest.mark.parametrize("damage", ["flip", "cut", "other"])
def test_a_backup_that_is_not_whole_is_refused(a, tmp_path, damage):
    backup(a, tmp_path / "copy.book")
    if damage == "flip":
        flip(tmp_path / "copy.book", b'"text":"in order"')
    else:
        data = (tmp_path / "copy.book").read_bytes()
        (tmp_path / "copy.book").write_bytes(data[: len(data) // 2] if damage == "cut" else b"hello" * 100)
    before = a.read_bytes()
    with pytest.raises(InputError):
        put_back(a, tmp_path / "copy.book", yes=True)
    assert a.read_bytes() == before


def test_a_bundle_is_taken_in_beside_what_is_there(a, tmp_path):
    with closing(open_book(str(a))) as book:
        exported(book, tmp_path / "all.zip")
        note(book, "later")
    was = contents(a)
    done = put_back(a, tmp_path / "all.zip")
    assert (done.gone, done.found.lines) == (0, 5)
    assert contents(a) == was
    put_back(tmp_path / "b.book", tmp_path / "all.zip")
    assert len(contents(tmp_path / "b.book")[0]) == 5


def test_a_server_is_backed_up_as_a_bundle_and_takes_back_both(postgres, a, tmp_path):
    where = str(postgres.new_database())
    with closing(book_with_two_machines(where)):
        pass
    done = backup(where, tmp_path / "server.zip")
    assert (done.form, done.found.lines) == ("bundle", 5)
    empty = str(postgres.new_database())
    put_back(empty, tmp_path / "server.zip")
    assert contents(empty) == contents(where)
    backup(a, tmp_path / "copy.book")
    other = str(postgres.new_database())
    put_back(other, tmp_path / "copy.book")
    assert contents(other) == contents(a)
    with closing(open_book(other)) as book:
        note(book, "only here", PETREL)
    put_back(other, tmp_path / "copy.book")
    assert len(contents(other)[0]) == 6


def test_what_a_killed_backup_left_is_swept_by_the_next(tmp_path):
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    half = f"..a.book.{gone.pid}.unchecked.{gone.pid}.half"
    left = [f".a.book.{gone.pid}.unchecked", half, f"{half}-journal", f".a.zip.{gone.pid}.half"]
    mine = [f".a.book.{os.getpid()}.unchecked", ".profile", ".a.half", "a.book"]
    for name in (*left, *mine):
        (tmp_path / name).write_bytes(b"x")
    sweep(tmp_path)
    assert {path.name for path in tmp_path.iterdir()} == set(mine)


@pytest.mark.parametrize("where", ["postgresql://ada:p@ss@localhost:1/book", "postgresql://ada:p@ss@localhost:x/book",
                                   "postgresql://ada:p@ss@nowhere.invalid/book"])  # fmt: skip
def test_a_bad_address_is_one_paragraph_and_shows_nothing_of_the_password(where):
    with pytest.raises(InputError) as refused:
        open_book(where, create=False)
    assert "ss@" not in str(refused.value)
    assert "p@" not in str(refused.value)
