"""`book export` and `book import` as a person and as a program use them."""

import json
import random
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import jsonschema
import pytest

from fakes.bundles import HERON, book_with_two_machines, sha
from tapewright.book.entry import NewEntry
from tapewright.book.store.open import open_book
from tapewright.terminal.run import run

SCHEMAS = Path(__file__).parents[2] / "docs/reference/schemas"


def said(capsys, *words):
    code = run([str(word) for word in words])
    out = capsys.readouterr()
    return code, out.out, out.err


def document(capsys, name, *words):
    code, out, _ = said(capsys, *words, "--json")
    found = json.loads(out)
    jsonschema.validate(found, json.loads((SCHEMAS / f"{name}.json").read_text("utf-8")))
    return code, found


def test_out_and_in(tmp_path, capsys):
    with closing(book_with_two_machines(tmp_path / "a.book")):
        pass
    where = ("--book", tmp_path / "a.book")
    code, out = document(capsys, "book-export", "book", "export", "-o", tmp_path / "a.zip", *where)
    assert (code, out["entries"], out["raw_files"]) == (0, 5, 2)
    code, taken = document(capsys, "book-import", "book", "import", tmp_path / "a.zip", "--book", tmp_path / "b.book")
    assert (code, taken["new"], [m["was_there"] for m in taken["machines"]]) == (0, 5, [False, False])
    code, text, _ = said(capsys, "book", "import", tmp_path / "a.zip", "--book", tmp_path / "b.book")
    assert "0 new lines; 5 were here already" in text
    code, text, _ = said(capsys, "book", "export", "-o", tmp_path / "h.zip", "--machine", "heron", *where)
    assert (code, "Heron: 2 lines" in text, "Petrel" in text) == (0, True, False)


def test_check_backup_restore(tmp_path, capsys):
    with closing(book_with_two_machines(tmp_path / "a.book")):
        pass
    where = ("--book", tmp_path / "a.book")
    code, found = document(capsys, "book-check", "book", "check", *where)
    assert (code, found["whole"], found["lines"]) == (0, True, 5)
    code, done = document(capsys, "book-backup", "book", "backup", tmp_path / "b.book", *where)
    assert (code, done["form"], done["raw_files"]) == (0, "copy", 2)
    said(capsys, "machine", "add", "Gannet", *where)
    code, _, err = said(capsys, "book", "restore", tmp_path / "b.book", *where)
    assert (code, "holds 1 line that" in err) == (2, True)
    code, done = document(capsys, "book-restore", "book", "restore", tmp_path / "b.book", "--yes", *where)
    assert (code, done["gone"], done["kept"]) == (0, 1, str(tmp_path / "a.book.before-restore-1"))


def test_check_finds_damage_and_tells_how_to_save_the_rest(tmp_path, capsys):
    with closing(book_with_two_machines(tmp_path / "a.book")):
        pass
    data = bytearray((tmp_path / "a.book").read_bytes())
    data[data.find(b'"text":"in order"') + 10] ^= 1
    (tmp_path / "a.book").write_bytes(data)
    where = ("--book", tmp_path / "a.book")
    code, text, _ = said(capsys, "book", "check", *where)
    assert code == 1
    assert "4 of 5 lines and 2 of 2 raw files are whole" in text
    assert "Heron: 1 of 2 lines whole" in text
    assert "book export --whole-only -o saved.zip" in text
    code, found = document(capsys, "book-check", "book", "check", *where)
    assert (code, found["whole"], len(found["faults"])) == (1, False, 1)
    code, out = document(capsys, "book-export", "book", "export", "--whole-only", "-o", tmp_path / "s.zip", *where)
    assert (code, out["entries"], out["left_out"]) == (0, 4, 1)
    code, text, _ = said(capsys, "book", "import", tmp_path / "s.zip", "--book", tmp_path / "new.book")
    assert "1 line that was not whole" in text


LIMITED = """
import resource, signal, sys
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (65536, 65536))
from tapewright.book.store.open import open_book
from tapewright.terminal.run import run
sys.exit(run(sys.argv[1:]))
"""


@pytest.mark.parametrize("words", [("book", "export", "-o"), ("book", "backup")])
def test_a_disk_that_takes_no_more_leaves_nothing_behind(tmp_path, words):
    noise = random.Random(1).randbytes(200_000)
    with closing(book_with_two_machines(tmp_path / "a.book")) as book:
        book.write([NewEntry(HERON, "photo", {"shows": "-"}, files=(sha(noise),))], {sha(noise): noise})
    before = sorted(path.name for path in tmp_path.iterdir())
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, *words, str(tmp_path / "out"), "--book", str(tmp_path / "a.book")],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (4, "")
    assert done.stderr.startswith("tapewright: ")
    assert "Traceback" not in done.stderr
    assert sorted(path.name for path in tmp_path.iterdir()) == before


def test_no_such_machine_book_or_folder(tmp_path, capsys):
    with closing(book_with_two_machines(tmp_path / "a.book")):
        pass
    where = ("--book", tmp_path / "a.book")
    code, _, err = said(capsys, "book", "export", "-o", tmp_path / "x.zip", "--machine", "Gannet", *where)
    assert (code, "There are: Heron, Petrel" in err) == (4, True)
    code, _, err = said(capsys, "book", "export", "-o", tmp_path / "no/x.zip", *where)
    assert (code, "expected a folder that is there" in err) == (4, True)
    assert said(capsys, "book", "export", "-o", tmp_path / "x.zip", "--book", tmp_path / "no.book")[0] == 4
    assert not (tmp_path / "x.zip").exists()


def test_lines_taken_in_that_are_older_than_what_stood_here_are_counted(tmp_path, capsys):
    a, b = ("--book", tmp_path / "a.book"), ("--book", tmp_path / "b.book")

    def write(where, hour, *texts):
        with closing(open_book(str(where[1]), clock=lambda: datetime(2026, 3, 2, hour, tzinfo=UTC))) as book:
            for text in texts:
                book.write([NewEntry(HERON, "note", {"text": text})], {})

    with closing(book_with_two_machines(a[1])):
        pass
    said(capsys, "book", "export", "-o", tmp_path / "1.zip", *a)
    _, taken = document(capsys, "book-import", "book", "import", tmp_path / "1.zip", *b)
    assert [m["older"] for m in taken["machines"]] == [0, 0]
    write(b, 18, "as left")
    write(a, 9, "in the morning", "at the other bench")
    write(a, 20, "in the evening")
    said(capsys, "book", "export", "-o", tmp_path / "2.zip", *a)
    _, text, _ = said(capsys, "book", "import", tmp_path / "2.zip", *b)
    assert "3 new lines" in text
    assert "2 lines taken in are older than the newest that stood here" in text
    assert text.count("older") == 1
