"""The demo's chapter of the proof, on the files of the chapters before."""

import pypdf

from tapewright.terminal.demo import CHAPTERS, before_and_after
from tapewright.terminal.demo import proof as demo_proof
from tapewright.terminal.demo.bench_book import BOOK
from tapewright.terminal.demo.line_signal import TEXT
from tapewright.terminal.run import run


def test_petrel_is_proved_from_as_found_to_as_left(tmp_path, capsys):
    run(["line", "compose", TEXT, "--repeat", "3", "--machine", "petrel", "-o", str(tmp_path / "petrel-line.csv")])
    run(["tape", "practice", TEXT, "--repeat", "3", "--machine", "petrel", "-o", str(tmp_path / "petrel-tape.png")])
    capsys.readouterr()
    demo_proof.chapter(tmp_path)
    said = capsys.readouterr()
    assert said.err == ""
    assert "Contact 3: closes 1.5" in said.out
    assert "0 of 1,025 characters came wrong" in said.out
    assert "Not tested:" in said.out
    words = "".join(page.extract_text() for page in pypdf.PdfReader(tmp_path / "petrel-proof.pdf").pages)
    assert "contact 3 reset" in words
    first = (tmp_path / "petrel-proof.pdf").read_bytes()
    # the chapter after it goes on with the same files
    capsys.readouterr()
    before_and_after.chapter(tmp_path)
    said = capsys.readouterr()
    assert said.err == ""
    assert "closing of contact 3, late" in said.out
    assert "every hash and key is right" in said.out
    # and the book that the bench opens on still has Petrel as found
    run(["machine", "show", "Petrel", "--book", str(tmp_path / BOOK)])
    assert "contact 3 closes 1.5" in capsys.readouterr().out
    demo_proof.chapter(tmp_path)  # a second time with the files kept: the same book, the same bytes
    assert (tmp_path / "petrel-proof.pdf").read_bytes() == first
    assert any(chapter.place.endswith("demo.proof:chapter") for chapter in CHAPTERS)
