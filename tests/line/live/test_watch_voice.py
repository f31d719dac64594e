"""Spoken words, through a stand-in program that writes down what it is told to say."""

import sys
import time
from types import SimpleNamespace

import pytest

from tapewright.errors import WrongUseError
from tapewright.line.live import watch_voice
from tapewright.line.live.events import Struck
from tapewright.line.live.watch_voice import WORDS, Voice, command_for, sentence, unavailable
from tapewright.terminal.run import run


@pytest.fixture
def program(tmp_path):
    """A program that takes a while for each sentence; give it and the file of what it said."""
    said = tmp_path / "said.txt"
    path = tmp_path / "speaks"
    body = f"import sys, time\ntime.sleep(0.15)\nopen({str(said)!r}, 'a').write(sys.argv[1] + '\\n')\n"
    path.write_text(f"#!{sys.executable}\n{body}")
    path.chmod(0o755)
    return path, said


def struck(*late_ms, contact=3, kept_back=False):
    """Return a character whose contact closed so late."""
    needles = tuple(SimpleNamespace(contact=contact, closing=True, late_ms=late, bounce_ms=0.0) for late in late_ms)
    return Struck(1, 0.0, 0.1, 0.15, "00100", "x", "x", None, None, True, needles, kept_back)


@pytest.mark.parametrize(("late_ms", "words"), [
    (1.52, "1.5 late"), (-0.38, "0.4 early"), (0.04, "right"), (-0.04, "right"), (0.06, "0.1 late"),
])  # fmt: skip
def test_the_words(late_ms, words):
    assert sentence(late_ms) == words


def test_what_is_struck_while_it_speaks_is_said_as_its_middle(program):
    path, said = program
    voice = Voice("3", closing=True, command=(str(path), WORDS))
    voice.take(struck(1.5))
    for late in (0.2, 0.4, 9.0):
        voice.take(struck(late))
    voice.take(struck(7.0, contact=2))
    voice.take(struck(7.0, kept_back=True))
    end = time.monotonic() + 20
    while not said.exists() and time.monotonic() < end:
        time.sleep(0.01)
    while said.read_text().count("\n") < 2 and time.monotonic() < end:
        voice.tick()
        time.sleep(0.01)
    voice.close()
    assert said.read_text().splitlines() == ["1.5 late", "0.4 late"]
    assert voice.silent == ""


def test_a_program_that_fails_falls_silent_and_says_so(tmp_path):
    voice = Voice("3", closing=True, command=(sys.executable, "-c", "raise SystemExit(3)", WORDS))
    voice.take(struck(1.0))
    voice.close()
    voice.take(struck(1.0))
    assert voice.silent == "the speech program ended with 3"
    gone = Voice("3", closing=True, command=(str(tmp_path / "none"), WORDS))
    gone.take(struck(1.0))
    assert "cannot be started" in gone.silent
    gone.close()


def test_none_is_said_with_the_remedy(monkeypatch, capsys):
    monkeypatch.setattr(watch_voice.shutil, "which", lambda name: None)
    assert "install espeak-ng" in unavailable()
    with pytest.raises(WrongUseError, match="--speak-with"):
        command_for(None)
    assert run(["line", "watch", "--from", "practice", "--speak", "3"]) == 2
    assert run(["line", "watch", "--from", "practice", "--speak", "3", "--speak-with", "no-such"]) == 2
    assert run(["line", "watch", "--from", "practice", "--speak-with", "no-such"]) == 2
    capsys.readouterr()
    assert run(["line", "watch", "--list"]) == 0
    assert "--speak    cannot be used here" in capsys.readouterr().out


@pytest.mark.parametrize("name", watch_voice.PROGRAMS)
def test_every_program_gets_the_words_whole(monkeypatch, name):
    monkeypatch.setattr(watch_voice.shutil, "which", lambda asked: f"/bin/{asked}" if asked == name else None)
    command = command_for(None)
    assert command[0] == f"/bin/{name}"
    assert sum(part.count(WORDS) for part in command) == 1


def test_a_watch_speaks(program, capsys):
    path, said = program
    words = ["--from", "practice:petrel", "--fast", "--nominal", "45.45", "--type", "RY", "--characters", "24",
             "--rate", "8000"]  # fmt: skip
    assert run(["line", "watch", *words, "--speak", "3", "--speak-with", str(path), "--json"]) in (0, 1, 3)
    # contact 3 of Petrel is set some 1.5 ms late; that is put in by the practice machine, not measured here
    spoken = said.read_text().splitlines()
    assert spoken
    assert all(line.endswith(" late") and 0.8 <= float(line.split()[0]) <= 2.2 for line in spoken)
