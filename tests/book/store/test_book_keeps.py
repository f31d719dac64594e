"""The book on SQLite and on PostgreSQL: what goes in comes out, in order, all or nothing."""

import hashlib
import io
from datetime import UTC, datetime, timedelta

import pytest

from tapewright.book.entry import Entry, NewEntry, key_of
from tapewright.book.store.open import open_book
from tapewright.book.store.raw_files import PIECE_BYTES
from tapewright.errors import InputError

PETREL, HERON = "a" * 32, "b" * 32
NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


class Clock:
    """Gives a second more each time, or goes where it is set."""

    def __init__(self):
        self.now = NOON

    def __call__(self):
        self.now += timedelta(seconds=1)
        return self.now


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def book(where, clock):
    opened = open_book(where, clock=clock, program="1.0")
    yield opened
    opened.close()


def sha(data):
    return hashlib.sha256(data).hexdigest()


def begin(book, key=PETREL, name="Petrel", **more):
    return book.write([NewEntry(key, "identity", {"name": name, **more})], {})[0]


def note(text, key=PETREL, **more):
    return NewEntry(key, "note", {"text": text}, **more)


def evidence(sort, number, **more):
    body = {"sort": sort, "phase": "as found", "says": f"{sort} {number}", "result": {"n": number}}
    return NewEntry(PETREL, "evidence", body, **more)


def test_lines_come_back_newest_first_and_page_by_page(book):
    begin(book)
    written = [book.write([note(f"line {i}")], {})[0] for i in range(5)]
    assert [e.number for e in written] == [2, 3, 4, 5, 6]
    assert book.entries(PETREL, kinds=("note",)) == tuple(reversed(written))
    first = book.entries(PETREL, limit=2)
    assert first == (written[4], written[3])
    assert book.entries(PETREL, limit=2, before=first[-1].number) == (written[2], written[1])
    assert [line.says for line in book.timeline(PETREL, limit=2)] == ["line 4", "line 3"]
    assert [e.number for e in book.read_through(PETREL)] == [1, 2, 3, 4, 5, 6]
    assert book.counts(PETREL) == {"identity": 1, "note": 5}


def test_an_entry_is_found_by_the_beginning_of_its_fingerprint(book):
    entry = begin(book)
    assert book.entry(entry.key) == book.entry(entry.key[:10]) == entry
    assert entry.key == key_of(entry.new, entry.at, "1.0", entry.link)
    for wrong in ("", "f" * 64 if entry.key != "f" * 64 else "e" * 64, "%", "g"):
        with pytest.raises(InputError, match="one line"):
            book.entry(wrong)


def test_newest_evidence_of_each_sort(book):
    begin(book)
    for number, sort in enumerate(["line", "tape", "line", "coil"]):
        book.write([evidence(sort, number)], {})
    newest = book.newest_evidence(PETREL)
    assert {sort: e.new.body["says"] for sort, e in newest.items()} == {
        "line": "line 2", "tape": "tape 1", "coil": "coil 3"}  # fmt: skip
    assert [e.new.body["says"] for e in book.entries(PETREL, sort="line")] == ["line 2", "line 0"]


def test_a_clock_set_back_does_no_harm(book, clock):
    begin(book)
    first = book.write([note("first")], {})[0]
    clock.now = NOON - timedelta(days=400)
    second = book.write([note("second")], {})[0]
    assert second.at < first.at
    assert book.entries(PETREL, kinds=("note",)) == (second, first)
    assert book.machine("Petrel").last_at == second.at


def test_the_same_line_twice_is_one_line(where):
    book = open_book(where, clock=lambda: NOON, program="1.0")
    begin(book)
    assert book.write([note("once")], {}) == book.write([note("once")], {})
    assert book.machine("Petrel").entries == 2
    book.close()


def test_raw_files_come_back_byte_for_byte(book, tmp_path):
    begin(book)
    # SHA-256 of "abc": the example in FIPS 180-4's companion document, "SHA256.pdf", one-block message
    abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    long = bytes(range(256)) * (2 * PIECE_BYTES // 256) + b"tail"
    on_disk = tmp_path / "capture.wav"
    on_disk.write_bytes(long)
    files = {abc: b"abc", sha(long): on_disk, sha(b""): lambda: io.BytesIO(b"")}
    book.write([evidence("line", 1, files=tuple(files))], files)
    with book.raw(sha(long)) as stream:
        assert stream.read() == long
        stream.seek(PIECE_BYTES - 2)
        assert stream.read(5) == long[PIECE_BYTES - 2 : PIECE_BYTES + 3]
        assert stream.seek(-2, io.SEEK_END) == len(long) - 2
        assert stream.read() == b"il"
    assert book.raw(abc).read() == b"abc"
    assert book.raw(sha(b"")).read() == b""
    assert book.raw_files() == {abc: 3, sha(long): len(long), sha(b""): 0}
    book.write([evidence("line", 2, files=(abc,))], {})  # a file that is there need not be given again
    with pytest.raises(InputError, match="none with this fingerprint"):
        book.raw("0" * 64)


class Dribble(io.RawIOBase):
    """Gives at most seven bytes at a time, as an unpacker may."""

    def __init__(self, data):
        self._inner = io.BytesIO(data)

    def readable(self):
        return True

    def read(self, size=-1):
        return self._inner.read(min(size, 70_001))


def test_a_source_that_dribbles_is_stored_whole(book):
    begin(book)
    data = b"0123456789" * (PIECE_BYTES // 8)
    book.write([evidence("line", 1, files=(sha(data),))], {sha(data): lambda: Dribble(data)})
    with book.raw(sha(data)) as stream:
        stream.seek(PIECE_BYTES + 1)
        assert stream.read(10) == data[PIECE_BYTES + 1 : PIECE_BYTES + 11]


def test_all_or_nothing(book):
    begin(book)
    wrong = sha(b"right")
    for lines, files, match in [
        ([note("a"), evidence("line", 1, files=(wrong,))], {wrong: b"wrong"}, "fingerprint"),
        ([note("a"), evidence("line", 1, files=(wrong,))], {}, "raw file"),
        ([note("a"), note("b", key=HERON)], {}, "identity before any other"),
        ([note("a"), note("b", rests_on=("0" * 64,))], {}, "which a new line names"),
        ([note("a"), NewEntry(PETREL, "note", {"x": float("nan")})], {}, "JSON cannot"),
        ([note("a"), NewEntry(PETREL, "note", {"x": "\ud800"})], {}, "JSON cannot"),
        ([note("a"), NewEntry(HERON, "identity", {"name": "PETREL "})], {}, "taken"),
        ([note("a"), NewEntry(HERON, "identity", {"name": " "})], {}, "a name for the machine"),
        ([note("a"), NewEntry("x", "identity", {"name": "Heron"})], {}, "32 hex digits"),
    ]:
        with pytest.raises(InputError, match=match):
            book.write(lines, files)
        assert [e.number for e in book.read_through()] == [1], match
        assert book.raw_files() == {}
    assert book.machine("Petrel").entries == 1


def test_the_shelf_follows_the_newest_identity(book):
    begin(book)
    begin(book, HERON, "Heron", model="page printer")
    begin(book, PETREL, "Petrel II", model="keyboard punch")
    assert [(m.name, m.model, m.entries) for m in book.machines()] == [
        ("Heron", "page printer", 1), ("Petrel II", "keyboard punch", 2)]  # fmt: skip
    assert book.machine("petrel  ii").key == book.machine(PETREL).key == PETREL
    with pytest.raises(InputError, match="There are: Heron, Petrel II"):
        book.machine("Petrel")
    book.write([note("x", key=HERON)], {})


def test_lines_that_name_a_line_are_found(book):
    begin(book)
    owed = book.write([NewEntry(PETREL, "recheck", {"what": "gap 3", "state": "owed"})], {})[0]
    done = book.write([NewEntry(PETREL, "recheck", {"what": "gap 3", "state": "done"}, rests_on=(owed.key,))], {})[0]
    better = book.write([NewEntry(PETREL, "recheck", {"what": "gap 4", "state": "owed"}, "Ada", replaces=owed.key,
                 reason="another gap")], {})[0]
    assert book.naming(owed.key) == (done, better)
    assert book.naming(done.key) == ()


@pytest.mark.parametrize("body", [{"text": "zero \x00 byte"}, {"text": "Größe ☃ 🖨"}, {"n": [1e308, -0.0, 10**30, 1.1]}])
def test_odd_content_comes_back_as_it_was(book, body):
    begin(book)
    entry = book.write([NewEntry(PETREL, "note", body)], {})[0]
    assert book.entry(entry.key).new.body == body


def take_from(book):
    return [(entry, {sha256: book.raw(sha256).read() for sha256 in entry.new.files}) for entry in book.read_through()]


def test_another_book_is_taken_in_once(book, tmp_path):
    other = open_book(str(tmp_path / "other.book"), clock=lambda: NOON, program="0.9")
    begin(other, HERON, "Heron")
    data = b"a capture"
    other.write([NewEntry(HERON, "evidence", evidence("line", 1).body, "Ada", (sha(data),))], {sha(data): data})
    begin(book)
    entries, files = list(other.read_through()), {sha(data): data}
    assert book.take_in(entries, files) == 2
    assert book.take_in(entries, files) == 0
    assert book.take_in(reversed(entries), {}) == 0
    taken = list(book.read_through(HERON))
    assert [(e.key, e.at, e.program, e.new) for e in taken] == [(e.key, e.at, e.program, e.new) for e in entries]
    assert [e.number for e in book.read_through()] == [1, 2, 3]
    assert book.raw(sha(data)).read() == data
    other.close()


def test_what_is_taken_in_by_pages_is_what_was_written_line_by_line(book, tmp_path):
    """Two machines by turns over several pages, a name changed on the way, files, links, lines that come twice."""
    other = open_book(str(tmp_path / "other.book"))
    begin(other), begin(other, "cd" * 16, "Heron")
    data = b"raw bytes"
    first = other.write([evidence("line", 0, files=(sha(data),))], {sha(data): data})[0]
    for n in range(230):
        other.write([note(f"p {n}", rests_on=(first.key,)), note(f"h {n}", key="cd" * 16)], {})
    begin(other, "cd" * 16, "Heron the second")
    other.write([note("last of Heron", key="cd" * 16)], {})
    lines = list(other.read_through())
    assert book.take_in([*lines[:300], *lines[100:]], {sha(data): data}) == len(lines)
    assert [(e.number, e.key) for e in book.read_through()] == [(e.number, e.key) for e in lines]
    assert book.machines() == other.machines()
    assert [e.key for e in book.naming(first.key)] == [e.key for e in other.naming(first.key)]
    assert book.raw_files() == other.raw_files()
    assert book.take_in(lines, {}) == 0
    assert book.machines() == other.machines()
    other.close()


def test_a_machine_of_the_same_name_is_told_apart(book):
    begin(book)
    new = NewEntry(HERON, "identity", {"name": "Petrel"})
    assert book.take_in([Entry(1, key_of(new, NOON, "1"), NOON, "1", new)], {}) == 1
    assert [(m.name, m.key) for m in book.machines()] == [("Petrel", PETREL), ("Petrel (2)", HERON)]


def test_a_line_that_was_altered_is_not_taken_in(book):
    begin(book)
    new, altered = NewEntry(HERON, "identity", {"name": "Heron"}), NewEntry(HERON, "identity", {"name": "Hero"})
    good = Entry(1, key_of(new, NOON, "1"), NOON, "1", new)
    with pytest.raises(InputError, match="what its fingerprint says"):
        book.take_in([good, Entry(2, key_of(new, NOON, "1"), NOON, "1", altered)], {})
    assert [m.name for m in book.machines()] == ["Petrel"]


def test_it_is_there_when_opened_again(where):
    book = open_book(where)
    begin(book)
    book.close()
    again = open_book(where, create=False)
    assert [m.name for m in again.machines()] == ["Petrel"]
    again.close()
