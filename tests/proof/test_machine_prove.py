"""`tapewright machine prove` and `machine plan`, on a book on disk."""

import csv
import json
import re
import shlex
from itertools import pairwise
from pathlib import Path

import jsonschema
import numpy as np
import pypdf
import pytest

from proof.practice_book import small
from tapewright.book.entry import NewEntry
from tapewright.book.record import open_book
from tapewright.proof.raw_pictures import LONGEST_PIECE, _pieces
from tapewright.terminal.run import run

SCHEMAS = Path(__file__).parents[2] / "docs" / "reference" / "schemas"
KEY = "ab" * 16


def schema(name):
    return json.loads((SCHEMAS / f"{name}.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """Write the record of the practice machine into a book; its raw files are not needed for the proof."""
    where = tmp_path_factory.mktemp("book") / "petrel.book"
    opened = open_book(str(where))
    keys = {}
    for entry in small().entries:
        rests_on = tuple(keys[key] for key in entry.new.rests_on)
        new = NewEntry(KEY, entry.new.kind, entry.new.body, entry.new.by, (), rests_on)
        keys[entry.key] = opened.write([new], {})[0].key
    opened.write([NewEntry("cd" * 16, "identity", {"name": "Heron"})], {})
    opened.close()
    return str(where)


def said(capsys, *words):
    code = run(["machine", *words])
    printed = capsys.readouterr()
    assert "Traceback" not in printed.err
    return code, printed


def test_proof_is_written_as_pdf_html_and_json(book, tmp_path, capsys):
    files = [tmp_path / f"petrel.{ending}" for ending in ("pdf", "html", "json")]
    out = [word for file in files for word in ("-o", str(file))]
    code, printed = said(capsys, "prove", "Petrel", "--book", book, "--paper", "letter", *out)
    assert code == 1  # gap 3 is outside
    assert "What was wrong, as found?" in printed.out
    assert all(f"Wrote {file}." in printed.out for file in files)
    assert float(pypdf.PdfReader(files[0]).pages[0].mediabox.width) == 612
    assert files[1].read_text(encoding="utf-8").startswith("<!doctype html>")
    document = json.loads(files[2].read_text(encoding="utf-8"))
    jsonschema.validate(document, schema("proof"))
    jsonschema.validate(document["plan"], schema("plan"))
    assert sorted(tmp_path.iterdir()) == sorted(files)  # nothing left over beside them
    first = files[0].read_bytes()
    said(capsys, "prove", "Petrel", "--book", book, "--paper", "letter", "-o", str(files[0]))
    assert files[0].read_bytes() == first


def test_json_on_standard_output_is_the_document(book, capsys):
    code, printed = said(capsys, "prove", "Petrel", "--book", book, "--json")
    document = json.loads(printed.out)
    jsonschema.validate(document, schema("proof"))
    assert code == 1
    assert document["first_page"]["counts"]["outside"] == 1
    assert document["machine"]["name"] == "Petrel"


def test_a_machine_nothing_was_measured_on_is_not_shown(book, tmp_path, capsys):
    code, printed = said(capsys, "prove", "Heron", "--book", book, "-o", str(tmp_path / "h.pdf"))
    assert code == 3
    assert "Nothing on record shows the machine as left." in printed.out


def test_plan_as_text_pdf_and_json(book, tmp_path, capsys):
    sheet = tmp_path / "plan.pdf"
    code, printed = said(capsys, "plan", "Petrel", "--book", book, "--one-in", "3000", "-o", str(sheet))
    assert code == 0
    assert printed.out.index("Mains and moving parts") < printed.out.index("Supply 10 % low")
    assert "8,986 characters" in printed.out
    pages = pypdf.PdfReader(sheet).pages
    words = " ".join(page.extract_text() for page in pages)
    assert words.index("Mains and moving parts") < words.index("Supply 10 % low")
    code, printed = said(capsys, "plan", "Petrel", "--book", book, "--json")
    jsonschema.validate(json.loads(printed.out), schema("plan"))


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("prove", "Nobody", "--book", "BOOK"), 4, "Nobody"),
        (("prove", "Petrel", "--book", "BOOK", "-o", "petrel.docx"), 2, ".pdf, .html, .json"),
        (("prove", "Petrel", "--book", "none.book"), 4, "no such file"),
        (("prove", "Petrel", "--book", "BOOK", "-o", "no/such/folder/p.pdf"), 4, "no/such/folder"),
        (("plan", "Petrel", "--book", "BOOK", "--one-in", "1"), 2, "--one-in"),
        (("plan", "Petrel", "--book", "BOOK", "-o", "plan.txt"), 2, ".pdf, .html, .json"),
    ],
)
def test_what_cannot_be_done_is_said(book, tmp_path, monkeypatch, capsys, words, code, says):
    monkeypatch.chdir(tmp_path)
    got, printed = said(capsys, *[book if word == "BOOK" else word for word in words])
    assert got == code
    assert says in printed.err
    assert not list(tmp_path.iterdir())


def test_every_command_the_proof_prints_is_one_the_program_has(book, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TAPEWRIGHT_BOOK", book)
    document = json.loads(said(capsys, "prove", "Petrel", "--json")[1].out)
    for command in document["trail"]["commands"]:
        assert run(shlex.split(command)[1:]) in (0, 1, 3), command
    capsys.readouterr()
    assert (tmp_path / "proof.pdf").exists()


@pytest.fixture(scope="module")
def measured(tmp_path_factory):
    """Return the folder of a book with raw files, and the proof of it as PDF and HTML."""
    folder = tmp_path_factory.mktemp("raw")
    book, capture, picture = folder / "raw.book", folder / "line.csv", folder / "tape.png"
    kept = ("--machine", "Petrel", "--phase", "as left", "--book", str(book))
    for words in (
        ("machine", "add", "Petrel", "--book", str(book)),
        ("line", "compose", "RYRY HARBOUR", "--machine", "petrel", "-o", str(capture)),
        ("line", "read", str(capture), "--nominal", "45.45", *kept),
        ("tape", "practice", "RYRY HARBOUR", "--machine", "petrel", "-o", str(picture)),
        ("tape", "read", str(picture), *kept),
        ("machine", "prove", "Petrel", "--book", str(book), "-o", str(folder / "p.pdf"), "-o", str(folder / "p.html")),
    ):
        assert run(list(words)) in (0, 1, 3)
    return folder


def test_the_raw_files_are_in_the_proof_with_words_and_fingerprints(measured, capsys):
    book = open_book(str(measured / "raw.book"))
    shas = list(book.raw_files())
    book.close()
    reader = pypdf.PdfReader(measured / "p.pdf")
    said = re.sub("[\\s\u200b]+", "", "".join(page.extract_text() for page in reader.pages))
    assert all(f"rawfile{sha256[:16]}" in said for sha256 in shas)
    assert sum(len(page.images) for page in reader.pages) == 1
    html = (measured / "p.html").read_text("utf-8")
    assert re.findall(r'href="(.{15})', html) == ["data:image/jpeg"]
    assert "characters from the beginning: R Y R Y SP H A" in html
    again = measured / "again.pdf"
    said_now(capsys, measured, again)
    assert again.read_bytes() == (measured / "p.pdf").read_bytes()


def said_now(capsys, measured, out):
    code, _ = said(capsys, "prove", "Petrel", "--book", str(measured / "raw.book"), "-o", str(out))
    assert code in (1, 3)


def test_the_trace_stands_where_the_file_has_its_edges(measured):
    """The file itself is the truth: the corners of the drawn line against its change times, straight to 0.01 mm."""
    html = (measured / "p.html").read_text("utf-8")
    drawing = next(svg for svg in re.findall(r"<svg.*?</svg>", html, re.DOTALL) if "with its characters</title>" in svg)
    points = [tuple(map(float, p.split(","))) for p in re.search(r'polyline points="([^"]+)"', drawing)[1].split()]
    steps = [a[0] for a, b in pairwise(points) if a[0] == b[0]]
    with (measured / "line.csv").open(encoding="utf-8") as lines:
        rows = [(float(t), float(level)) for t, level in list(csv.reader(lines))[1:]]
    times = [now[0] for before, now in pairwise(rows) if now[1] != before[1]][: len(steps)]
    assert len(steps) > 20
    slope, offset = np.polyfit(times, steps, 1)
    assert np.abs(np.polyval((slope, offset), times) - steps).max() < 0.01


def test_what_cannot_be_drawn_is_said(book, tmp_path, capsys):
    said(capsys, "prove", "Petrel", "--book", book, "-o", str(tmp_path / "p.html"))
    html = (tmp_path / "p.html").read_text("utf-8")
    assert "The line as left cannot be drawn: its raw capture is not in the book." in html


def test_a_long_tape_is_cut_into_pieces_without_losing_any():
    tape = np.zeros((20, 1000, 3), np.uint8)
    tape[:, :, 0] = np.arange(1000)[None, :] % 251
    pieces, said = _pieces(tape)
    wide = LONGEST_PIECE * 20
    assert said == ("cut",)
    assert pieces.shape == (21 * 8 - 1, wide, 3)
    got = np.concatenate([pieces[n * 21] for n in range(8)])[:1000]
    assert (got == tape[0]).all()
    assert _pieces(np.zeros((20, 9 * wide, 3), np.uint8))[1] == ("cut", "rest")
    assert _pieces(np.zeros((20, wide, 3), np.uint8))[1] == ()
