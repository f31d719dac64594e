"""`tapewright line soak` from the command line: counting, restart, report, the book."""

import json
from pathlib import Path

import jsonschema
import pytest

from tapewright.cli.run import run
from tapewright.wiring import open_book

SCHEMA = json.loads((Path(__file__).parents[2] / "docs/reference/schemas/soak.json").read_text("utf-8"))
FOX = "THE QUICK BROWN FOX "


@pytest.fixture
def soak(capsys, tmp_path):
    def run_it(*arguments, code=0):
        capsys.readouterr()
        state = str(tmp_path / "petrel.soak")
        assert run(["line", "soak", "--state", state, "--json", *map(str, arguments)]) == code
        document = json.loads(capsys.readouterr().out)
        jsonschema.validate(document, SCHEMA)
        return document

    return run_it


def test_a_soak_goes_on_after_a_restart(soak, tmp_path):
    said = ["--from", "practice", "--fast", "--expect", FOX, "--nominal", "45.45", "--characters", 40]
    first = soak(*said)
    assert (first["wrong"], first["characters"], first["restarts"]) == (0, 40, 0)
    # with nothing wrong in n the bound is 1 - 0.05^(1/n) (Clopper and Pearson 1934, from memory)
    assert first["rate_upper_95"] == pytest.approx(1 - 0.05 ** (1 / 40))
    book = tmp_path / "skerry.book"
    assert run(["machine", "add", "Petrel", "--book", str(book)]) == 0
    second = soak(*said, "--machine", "Petrel", "--book", book)
    assert (second["wrong"], second["characters"], second["restarts"]) == (0, 80, 1)
    assert soak("--report") == second
    opened = open_book(str(book), create=False)
    (entry,) = opened.entries(opened.machine("Petrel").key, kinds=("soak",))
    assert (entry.new.body["characters"], entry.new.body["wrong"]) == (80, 0)
    opened.close()
    log = (tmp_path / "petrel.soak.log").read_text().splitlines()
    assert json.loads(log[-1])["characters"] == 80


def test_what_comes_wrong_is_counted(soak, tmp_path):
    wav = tmp_path / "bad.wav"
    # two letters of sixty are others than those expected
    text = FOX * 2 + "THE QUICK BRAWN FIX "
    assert run(["line", "compose", text, "--machine", "heron", "-o", str(wav)]) == 0
    found = soak("--from", wav, "--expect", FOX, code=1)
    assert (found["changed"], found["lost"], found["extra"]) == (2, 0, 0)


def test_another_text_needs_another_state(soak, tmp_path, capsys):
    soak("--from", "practice", "--fast", "--expect", FOX, "--nominal", "45.45", "--characters", 20)
    state = str(tmp_path / "petrel.soak")
    assert run(["line", "soak", "--state", state, "--from", "practice", "--expect", "RYRY"]) == 2
    assert run(["line", "soak", "--state", state]) == 2
    assert run(["line", "soak", "--state", str(tmp_path / "none"), "--report"]) == 4
    assert "another text" in capsys.readouterr().err
