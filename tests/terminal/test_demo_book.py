"""The demo's chapter of the book, on files the chapters before would have left: here the line capture alone."""

from tapewright.book.store.open import open_book
from tapewright.terminal.demo import bench_book
from tapewright.terminal.demo.line_signal import TEXT
from tapewright.terminal.run import run


def test_the_museums_book_is_begun_and_measured_again(tmp_path, capsys):
    run(["line", "compose", TEXT, "--repeat", "3", "--machine", "petrel", "-o", str(tmp_path / "petrel-line.csv")])
    bench_book.chapter(tmp_path)
    said = capsys.readouterr()
    assert said.err == ""
    assert "2 measured again: 2 the same, 0 changed." in said.out
    assert "landing time" in said.out.split("Still to be checked again:")[1]
    book = open_book(str(tmp_path / bench_book.BOOK))
    assert {m.name: sorted(book.newest_evidence(m.key)) for m in book.machines()} == {
        "Heron": [], "Petrel": ["gauge", "line"]}  # fmt: skip
    lines = [m.entries for m in book.machines()]
    book.close()
    # a folder that was kept is not written twice
    bench_book.make_book(tmp_path)
    book = open_book(str(tmp_path / bench_book.BOOK))
    assert [m.entries for m in book.machines()] == lines
    book.close()
