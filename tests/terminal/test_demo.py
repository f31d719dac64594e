"""The demo from its first chapter to its last, played once for all that is looked for in it."""

import contextlib
import io
import re
from dataclasses import dataclass
from pathlib import Path

import pypdf
import pytest

from tapewright.book.store.open import open_book
from tapewright.terminal import demo
from tapewright.terminal.demo import CHAPTERS, bench_book, headline
from tapewright.terminal.demo import proof as demo_proof
from tapewright.terminal.demo.part_at_fault import FAULT
from tapewright.terminal.run import run

MOST_LINES = 6


@dataclass(frozen=True)
class Played:
    """The folder the chapters worked in, and by its place what each printed and what it said on standard error."""

    folder: Path
    printed: dict[str, str]
    complaints: dict[str, str]

    def of(self, name: str) -> str:
        """Return what the chapter in terminal/demo/NAME.py printed."""
        return self.printed[f"terminal.demo.{name}:chapter"]


@pytest.fixture(scope="module")
def played(tmp_path_factory):
    folder, printed, complaints = tmp_path_factory.mktemp("demo"), {}, {}
    for chapter in CHAPTERS:
        out, err = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            demo._load(chapter.place)(folder)
        printed[chapter.place], complaints[chapter.place] = out.getvalue(), err.getvalue()
    return Played(folder, printed, complaints)


@pytest.fixture
def told(played, monkeypatch):
    """The command `demo` with chapters that print again what they printed when they were played."""
    monkeypatch.setattr(demo, "_load", lambda place: lambda _: print(played.printed[place], end=""))
    monkeypatch.setattr(demo, "make_book", lambda folder: folder)
    return played


def plain(text):
    return re.sub(r"\s+", " ", text)


def test_a_headline_is_what_the_chapter_prints(tmp_path, capsys):
    short = headline(CHAPTERS[0], tmp_path)
    assert capsys.readouterr().out == ""
    assert len(short) == 2
    # the practice machine's motor is 1 per cent slow and its contact 3 closes 1.52 ms late: it says so when it composes
    assert re.search(r"motor speed: (0\.9|1\.0)\d % slow", short[0])
    assert re.search(r"contact 3: closes 1\.5\d ± 0\.0\d ms late", short[1])


def test_every_chapter_has_its_headline(told, tmp_path, capsys):
    assert run(["demo", "--no-serve", "--keep", str(tmp_path)]) == 0
    short = capsys.readouterr().out.split("\nAll that the chapters print")[0]
    chapters = re.split(r"^\d+\. ", short, flags=re.MULTILINE)
    assert [chapter.splitlines()[0] for chapter in chapters[1:]] == [chapter.title for chapter in CHAPTERS]
    assert run(["demo", "--no-serve", "--verbose", "--keep", str(tmp_path)]) == 0
    whole = capsys.readouterr().out.split("\n== ")[1:]
    for chapter, everything in zip(chapters[1:], whole, strict=True):
        lines = re.split(r"\n   (?! )", chapter.rstrip())[1:]
        assert 1 <= len(lines) <= MOST_LINES, chapter
        assert all(plain(line) in plain(everything) for line in lines), chapter
        assert len(everything) > 2 * len(chapter)


@pytest.mark.parametrize("name", ["bench_book", "proof", "before_and_after"])
def test_nothing_is_complained_of(played, name):
    assert played.complaints[f"terminal.demo.{name}:chapter"] == ""


def test_the_magnet_free_and_stuck(played):
    out = played.of("magnet")
    free, stuck = out.split("heron-free.csv: ")[1].split("heron-stuck.csv: ")
    assert "The armature moved." in free
    assert "The armature did not move." in stuck
    read = float(re.search(r"Lands after\s+([\d.]+)", free).group(1))
    known = float(re.search(r"it landed after ([\d.]+) ms", free).group(1))
    assert abs(read - known) < 0.1
    assert out.index("Before anything is switched on") < out.index("Steady current")
    assert "Which resistor and suppressor" in out
    assert {"heron-drive.svg", "heron-free.svg"} <= {file.name for file in played.folder.iterdir()}


def test_speed_and_margin_end_where_they_say(played):
    out = played.of("speed_and_margin")
    assert "motor 1837.78 (exactly 7500000/4081) rpm" in out
    assert "The output is off." in out
    assert "The ways agree" in out
    assert "Set it to 48" in out


def test_the_part_is_found_in_fewer_minutes_than_by_the_list(played, capsys):
    out = played.of("part_at_fault")
    assert "mended" in out
    assert "The path not taken" in out
    advised = float(out.split(" min in all")[0].rsplit(maxsplit=1)[-1])
    fixed = float(out.split("in the order of the list: ")[1].split()[0])
    assert advised < fixed
    assert run(["diagnose", "--evidence", str(played.folder / "petrel-evidence.toml")]) in (1, 3)
    assert FAULT in capsys.readouterr().out


def evidence_in(path):
    """Return the sorts of evidence of each machine of a book, and how many lines each has."""
    book = open_book(str(path))
    found = {m.name: (sorted(book.newest_evidence(m.key)), m.entries) for m in book.machines()}
    book.close()
    return found


def test_the_museums_book_is_begun_and_measured_again(played):
    out = played.of("bench_book")
    assert re.search(r"(\d+) measured again: \1 the same, 0 changed\.", out)
    assert "landing time" in out.split("Still to be checked again:")[1]
    found = evidence_in(played.folder / bench_book.BOOK)
    assert {name: sorts for name, (sorts, _) in found.items()} == {
        "Heron": ["coil"],
        "Petrel": ["gauge", "line", "tape"],
    }
    bench_book.make_book(played.folder)  # a folder that was kept is not written twice
    assert evidence_in(played.folder / bench_book.BOOK) == found


def test_of_chapters_that_left_no_file_nothing_is_written(tmp_path):
    found = evidence_in(bench_book.make_book(tmp_path))
    assert {name: sorts for name, (sorts, _) in found.items()} == {"Heron": [], "Petrel": ["gauge"]}


def test_petrel_is_proved_from_as_found_to_as_left(played, capsys):
    out = played.of("proof")
    assert "Contact 3: closes 1.5" in out
    assert "0 of 1,025 characters came wrong" in out
    assert "Not tested:" in out
    proof = played.folder / "petrel-proof.pdf"
    assert "contact 3 reset" in "".join(page.extract_text() for page in pypdf.PdfReader(proof).pages)
    first = proof.read_bytes()
    # the book that the bench opens on still has Petrel as found
    run(["machine", "show", "Petrel", "--book", str(played.folder / bench_book.BOOK)])
    assert "contact 3 closes 1.5" in capsys.readouterr().out
    demo_proof.chapter(played.folder)  # a second time with the files kept: the same book, the same bytes
    assert proof.read_bytes() == first


def test_before_and_after_is_what_was_put_right(played):
    out = played.of("before_and_after")
    first = out.split("clearest first:\n")[1].split("The record goes along")[0]
    assert "closing of contact 3, late" in first
    assert "speed against nominal" in first
    assert "opening of contact 1, late" not in first
    assert "nothing wrong" in out
    assert "every hash and key is right" in out
    assert (played.folder / "petrel-before-after.svg").exists()
