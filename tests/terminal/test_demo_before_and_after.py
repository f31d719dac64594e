"""The demo's chapter on before and after finds what the practice machine had wrong, and the bundle goes in."""

from tapewright.terminal.demo.before_and_after import chapter
from tapewright.terminal.demo.line_signal import TEXT
from tapewright.terminal.run import run


def test_chapter(tmp_path, capsys):
    book, line = str(tmp_path / "petrel.book"), str(tmp_path / "line.csv")
    run(["machine", "add", "Petrel", "--book", book])
    for phase, machine in (("as found", "petrel"), ("as left", "heron")):
        run(["line", "compose", TEXT, "--machine", machine, "-o", line])
        run(["line", "read", line, "--nominal", "45.45", "--machine", "Petrel", "--phase", phase, "--book", book])
    capsys.readouterr()
    chapter(tmp_path)
    said = capsys.readouterr().out
    first = said.split("clearest first:\n")[1].split("The record goes along")[0]
    assert "closing of contact 3, late" in first
    assert "speed against nominal" in first
    assert "opening of contact 1, late" not in first
    assert "nothing wrong" in said
    assert "every hash and key is right" in said
    assert (tmp_path / "petrel-before-after.svg").exists()
