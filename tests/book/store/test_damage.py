"""A book that is damaged for real: the check finds it, says what is whole, and what is whole can be saved."""

import random
import shutil
import sqlite3
from contextlib import closing

import pytest
from sqlalchemy import text

from fakes.bundles import (
    CAPTURE,
    HERON,
    PETREL,
    SCAN,
    Clock,
    book_with_two_machines,
    everything,
    exported,
    imported,
    sha,
)
from tapewright.book.carrying import check_the_book, save_what_is_whole
from tapewright.book.entry import NewEntry
from tapewright.book.store.open import open_book
from tapewright.errors import InputError


def check(where):
    return check_the_book(str(where), lambda _: None)[0]


def faults(where):
    return [f"{fault.place}: {fault.what}" for fault in check(where).faults]


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    """A closed book of some pages: two machines, 60 lines, three raw files, one of which is longer than a page."""
    file = tmp_path_factory.mktemp("sound") / "sound.book"
    with closing(book_with_two_machines(file)) as book:
        book.write([NewEntry(PETREL, "note", {"text": f"{i} " + "word " * 60}) for i in range(40)], {})
        book.write([NewEntry(HERON, "note", {"text": f"{i} " + "word " * 60}) for i in range(15)], {})
        long = random.Random(1).randbytes(30_000)
        book.write([NewEntry(HERON, "photo", {"shows": "nameplate"}, files=(sha(long),))], {sha(long): long})
    return file


@pytest.fixture(scope="module")
def contents(sound):
    with closing(open_book(str(sound))) as book:
        return everything(book)


@pytest.fixture
def copy(sound, tmp_path):
    return shutil.copy(sound, tmp_path / "copy.book")


def test_a_sound_book_is_sound(sound, contents):
    found = check(sound)
    assert (found.faults, found.remarks) == ((), ())
    assert (found.lines, found.whole_lines, found.raw_files, found.whole_raw_files) == (61, 61, 3, 3)
    assert [(m.name, m.lines, m.whole) for m in found.machines] == [("Heron", 18, 18), ("Petrel", 43, 43)]


def saved(damaged, tmp_path):
    """Save what is whole and take it in to a new book; give what that holds."""
    save_what_is_whole(str(damaged), tmp_path / "saved.zip", lambda _: None)
    with closing(open_book(str(tmp_path / "new.book"))) as new:
        imported(new, tmp_path / "saved.zip")
        return everything(new)


def is_part_of(part, contents):
    """Return whether all lines and raw files of `part` are true ones; a stand-in for a lost identity is allowed."""
    lines = [line for line in part[0] if "stands in for it" not in line[3].body.get("note", "")]
    return all(line in contents[0] for line in lines) and part[2].items() <= contents[2].items()


@pytest.mark.parametrize("seed", range(24))
def test_a_flipped_bit_is_found_or_does_no_harm(copy, contents, tmp_path, seed):
    """SQLite leaves room on its pages: a bit that flips there says nothing. All others must be found."""
    chance = random.Random(seed)
    data = bytearray(copy.read_bytes())
    data[chance.randrange(100, len(data))] ^= 1 << chance.randrange(8)
    copy.write_bytes(data)
    found = check(copy)
    if found.faults:
        assert is_part_of(saved(copy, tmp_path), contents)
    else:
        with closing(open_book(str(copy))) as book:
            assert everything(book) == contents


def test_a_bit_of_a_line_and_one_of_a_raw_file(copy, contents, tmp_path):
    data = bytearray(copy.read_bytes())
    data[data.find(b'"text":"in order"') + 9] ^= 1
    data[data.find(SCAN[:200]) + 100] ^= 1
    copy.write_bytes(data)
    found = check(copy)
    assert (found.whole_lines, found.whole_raw_files) == (59, 2)
    words = faults(copy)
    assert f"raw file {sha(SCAN)[:12]}: it is not what its name says: it was altered or damaged" in words
    assert "line 5: it is not what its key says: it was altered or damaged" in words
    assert f"line 3: its text is whole, but the raw file {sha(SCAN)[:12]} it rests on is damaged" in words
    lines, machines, raw = saved(copy, tmp_path)
    assert len(lines) == 59
    assert [line[0] for line in contents[0] if line not in lines] == [contents[0][2][0], contents[0][4][0]]
    assert sorted(raw) == sorted(set(contents[2]) - {sha(SCAN), sha(CAPTURE)})
    assert [m[1] for m in machines] == ["Heron", "Petrel"]


@pytest.mark.parametrize("part", [0.02, 0.3, 0.6, 0.9])
def test_a_file_that_is_cut_off(copy, contents, tmp_path, part):
    data = copy.read_bytes()
    copy.write_bytes(data[: int(part * len(data))])
    found = check(copy)
    assert found.faults
    assert found.whole_lines < 61
    assert is_part_of(saved(copy, tmp_path), contents)


def test_more_of_a_cut_off_file_means_more_lines_saved(copy):
    data = copy.read_bytes()
    whole = []
    for part in (0.3, 0.6, 0.9):
        copy.write_bytes(data[: int(part * len(data))])
        whole.append(check(copy).whole_lines)
    assert whole == sorted(whole)
    assert whole[-1] > 30


def test_a_page_of_the_tables_wiped_out(copy, contents, tmp_path):
    with closing(sqlite3.connect(copy)) as connection:
        (root,) = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = 'machines'").fetchone()
        (page,) = connection.execute("PRAGMA page_size").fetchone()
    data = bytearray(copy.read_bytes())
    data[(root - 1) * page : root * page] = bytes(page)
    copy.write_bytes(data)
    found = check(copy)
    assert found.faults
    assert found.whole_lines == 61
    lines, machines, _ = saved(copy, tmp_path)
    assert (len(lines), [m[1] for m in machines]) == (61, ["Heron", "Petrel"])


@pytest.mark.parametrize("size", [100, 16384])
def test_a_first_page_that_is_gone(copy, size):
    copy.write_bytes(bytes(size) + copy.read_bytes()[size:])
    assert "its first page is destroyed" in faults(copy)[0]


@pytest.mark.parametrize("word", [b'"text":"in order"', SCAN[:200]])
def test_a_plain_export_of_a_damaged_book_is_refused(copy, tmp_path, word):
    data = bytearray(copy.read_bytes())
    data[data.find(word) + 10] ^= 1
    copy.write_bytes(data)
    with closing(open_book(str(copy))) as book, pytest.raises(InputError, match="--whole-only` saves it"):
        exported(book, tmp_path / "a.zip")
    assert not (tmp_path / "a.zip").exists()


def test_a_damaged_server_is_saved_too(postgres, tmp_path):
    where = str(postgres.new_database())
    with closing(book_with_two_machines(where)) as book:
        contents = everything(book)
        with book.engine.begin() as connection:
            connection.execute(text(ALTERED[0][0]))
    lines, machines, raw = saved(where, tmp_path)
    assert [line for line in contents[0] if line not in lines] == [contents[0][4]]
    assert ([m[1] for m in machines], raw) == (["Heron", "Petrel"], contents[2])


def test_a_lost_identity_gets_one_that_stands_in(copy, contents, tmp_path):
    data = bytearray(copy.read_bytes())
    data[data.find(b'{"at":"2026-03-01T12:00:01')] ^= 1
    copy.write_bytes(data)
    lines, _, _ = saved(copy, tmp_path)
    assert len(lines) == 61
    (stand_in,) = [line[3] for line in lines if line not in contents[0]]
    assert (stand_in.kind, stand_in.body["name"], stand_in.machine) == ("identity", "Petrel", PETREL)


# ---- altered from within, on SQLite and on PostgreSQL

ALTERED = [
    ("UPDATE entries SET document = replace(document, 'order', 'Order') WHERE number = 5", "line 5: it is not what"),
    ("UPDATE entries SET kind = 'soak' WHERE number = 5", "line 5: it is filed under kind 'soak', and says 'note'"),
    ("UPDATE entries SET at = '2001' WHERE number = 4", "line 4: it is filed under at '2001'"),
    ("DELETE FROM links WHERE number = 4", "line 4: the list of lines it names is not what it says"),
    ("DELETE FROM files_of_entries WHERE number = 3", "line 3: the list of raw files it rests on is not what it says"),
    (f"DELETE FROM pieces WHERE sha256 = '{sha(SCAN)}'", f"raw file {sha(SCAN)[:12]}: 0 bytes of {len(SCAN)} are"),
    ("UPDATE machines SET entries = 9 WHERE name = 'Heron'", "machine Heron: the shelf counts 9 lines, and there are"),
    ("DELETE FROM links WHERE number = 4; DELETE FROM entries WHERE number = 4", "line 4: it is missing"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "why"), ALTERED)
def test_what_was_altered_in_the_database_is_found(where, change, why):
    with closing(book_with_two_machines(where)) as book, book.engine.begin() as connection:
        for statement in change.split("; "):
            connection.execute(text(statement))
    assert any(fault.startswith(why) for fault in faults(where)), faults(where)


def test_a_raw_file_whose_bytes_were_altered(where):
    with closing(book_with_two_machines(where)) as book, book.engine.begin() as connection:
        connection.execute(text("UPDATE pieces SET piece = :piece WHERE sha256 = :sha256"),
                           {"piece": CAPTURE[::-1], "sha256": sha(CAPTURE)})  # fmt: skip
    assert any("altered or damaged" in fault for fault in faults(where))


def test_writers_do_not_disturb_a_check(tmp_path):
    """All questions are about one moment, even when a line comes with a new raw file in between."""
    from tapewright.book.check_book import check_book
    from tapewright.book.store.damaged import open_to_examine
    from tapewright.book.store.examine import examining

    with closing(book_with_two_machines(tmp_path / "a.book")) as book:
        looked_at, _ = open_to_examine(str(tmp_path / "a.book"), "1")
        with examining(looked_at) as examiner:
            assert len(examiner.raw_files()) == 2
            book.write([NewEntry(HERON, "photo", {"shows": "-"}, files=(sha(b"new"),))], {sha(b"new"): b"new"})
            found = check_book(examiner, lambda _: None)
        looked_at.close()
        assert (found.faults, found.lines) == ((), 5)


def test_a_line_that_names_one_elsewhere_is_a_remark(tmp_path):
    with closing(book_with_two_machines(tmp_path / "a.book")) as book:
        first = next(book.read_through(PETREL))
        book.write([NewEntry(HERON, "note", {"text": "as on Petrel"}, rests_on=(first.key,))], {})
        entries = list(book.read_through(HERON))
    with closing(open_book(str(tmp_path / "b.book"), clock=Clock())) as other:
        other.take_in(entries, {})
    found = check(tmp_path / "b.book")
    assert (found.faults, len(found.remarks)) == ((), 1)


@pytest.mark.parametrize("data", [None, b""])
def test_no_book_at_all(tmp_path, data):
    if data is not None:
        (tmp_path / "a.book").write_bytes(data)
    with pytest.raises(InputError):
        check(tmp_path / "a.book")
