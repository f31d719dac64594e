"""`tapewright line soak` from the command line: counting, restart, report, the book."""

import json
import subprocess
import sys
import time
from pathlib import Path

import jsonschema
import pytest

from tapewright.book.record import open_book
from tapewright.line.live.soak import SoakState
from tapewright.line.live.soak_command import UNNAMED, SoakHands
from tapewright.line.live.soak_files import read_state
from tapewright.line.live.soak_run import Said
from tapewright.terminal.run import run

SCHEMA = json.loads((Path(__file__).parents[3] / "docs/reference/schemas/soak.json").read_text("utf-8"))
FOX = "THE QUICK BROWN FOX "


@pytest.fixture
def soak(capsys, tmp_path):
    def run_it(*arguments, code=3):
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
    # kept again, the line that stood for the first part is replaced, so that nothing is counted twice
    soak("--report", "--machine", "Petrel", "--book", book)
    again = opened.entries(opened.machine("Petrel").key, kinds=("soak",))[0]
    assert again.new.replaces == entry.key
    opened.close()
    log = (tmp_path / "petrel.soak.log").read_text().splitlines()
    assert json.loads(log[-1])["characters"] == 80


@pytest.mark.slow
def test_a_soak_survives_kill_and_counts_nothing_twice(soak, tmp_path):
    """A growing file, the program killed in the middle without a word; what it counts in the end is what was put in."""
    text = "THE QUICK BRAWN FOX " + FOX * 6
    whole = tmp_path / "whole.wav"
    assert run(["line", "compose", text, "--machine", "heron", "--rate", "4000", "-o", str(whole)]) == 0
    data = whole.read_bytes()
    growing, state = tmp_path / "line.wav", tmp_path / "petrel.soak"
    growing.write_bytes(data[: 3 * len(data) // 4])
    said = ["--from", str(growing), "--expect", FOX, "--nominal", "45.45", "--state", str(state)]
    command = [sys.executable, "-m", "tapewright", "line", "soak", *said, "--follow"]
    running = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    try:
        until(lambda: state.exists() and read_state(state)[0].characters > 50)
        # how it stands can be asked while it runs
        between = soak("--report")
        assert 50 < between["characters"] < len(text)
    finally:
        running.kill()
        running.communicate(timeout=30)
    growing.write_bytes(data)
    found = soak(*said[:-2])
    assert (found["changed"], found["lost"], found["extra"], found["restarts"]) == (1, 0, 0, 1)
    assert found["characters"] == len(text)
    assert found["minutes"] == pytest.approx((len(data) - 44) / 2 / 4000 / 60)


def until(holds, seconds=30.0):
    """Wait for something that another program does."""
    end = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < end
        time.sleep(0.02)


def test_what_comes_wrong_is_counted(soak, tmp_path):
    wav = tmp_path / "bad.wav"
    # two letters of sixty are others than those expected
    text = FOX * 2 + "THE QUICK BRAWN FIX "
    assert run(["line", "compose", text, "--machine", "heron", "-o", str(wav)]) == 0
    found = soak("--from", wav, "--expect", FOX, code=1)
    assert (found["changed"], found["lost"], found["extra"]) == (2, 0, 0)
    # what is asked decides: 2 of 60 are above one in a thousand, and below one in eight (scipy's beta: 0.103)
    assert soak("--report", "--claim", 0.125, code=0)["verdicts"][0]["state"] == "within"


def test_another_text_needs_another_state(soak, tmp_path, capsys):
    soak("--from", "practice", "--fast", "--expect", FOX, "--nominal", "45.45", "--characters", 20)
    state = str(tmp_path / "petrel.soak")
    assert run(["line", "soak", "--state", state, "--from", "practice", "--expect", "RYRY"]) == 2
    assert run(["line", "soak", "--state", state]) == 2
    assert run(["line", "soak", "--state", str(tmp_path / "none"), "--report"]) == 4
    assert "another text" in capsys.readouterr().err


def test_an_adjustment_said_from_another_window_parts_the_count(soak, tmp_path, capsys):
    state, book = str(tmp_path / "petrel.soak"), str(tmp_path / "skerry.book")
    said = ["--from", "practice", "--fast", "--expect", FOX, "--nominal", "45.45", "--characters", 40]
    kept = ["--machine", "Petrel", "--book", book]
    assert run(["machine", "add", "Petrel", "--book", book]) == 0
    soak(*said, *kept)
    assert run(["line", "soak", "--state", state, "--mark", "screw B a  quarter"]) == 0
    second = soak(*said, *kept)
    assert (second["adjusted"], second["characters"], second["wrong"]) == ("screw B a quarter", 40, 0)
    assert [side["characters"] for side in second["sides"]] == [40, 40]
    assert not second["between"][0]["rates_differ"]
    # an adjustment written in the book while the soak is off parts it as well
    assert run(["machine", "log", "Petrel", "adjustment", "what=governor a notch up", "--book", book]) == 0
    third = soak(*said, *kept)
    assert [side["adjusted"] for side in third["sides"]] == ["", "screw B a quarter", "governor a notch up"]
    capsys.readouterr()
    assert run(["line", "soak", "--state", state, "--report"]) == 3
    told = capsys.readouterr().out
    assert "Since the last adjustment (governor a notch up)" in told
    assert "screw B a quarter: 0 of 40 wrong before, 0 of 40 after: no difference is shown; the speed went by" in told
    opened = open_book(book, create=False)
    lines = opened.entries(opened.machine("Petrel").key, kinds=("soak",))
    # each side has a line of its own, none replaced by that of another
    assert [line.new.body.get("after", "") for line in lines] == ["governor a notch up", "screw B a quarter", ""]
    assert not any(line.new.replaces for line in lines)
    opened.close()


class Typed:
    """A keyboard that gives one text after the other."""

    def __init__(self, *texts):
        self.texts = list(texts)

    def poll(self):
        return self.texts.pop(0) if self.texts else ""


def test_keys_tell_when_a_hand_goes_to_a_screw_and_what_it_did(tmp_path, capsys):
    hands = SoakHands(tmp_path / "x.soak", Typed("x", "t", "scr", "ew\x7fw B\n", "tno\x1b", "t\n"))
    told = [said for _ in range(6) for said in hands.since(SoakState())]
    assert told == [Said("turning"), Said("marked", "screw B"), Said("turning"), Said("nothing"), Said("turning"),
                    Said("marked", UNNAMED)]  # fmt: skip
