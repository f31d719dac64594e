"""Who answers the margin search: the operator at the prompt, a picture, an echo; what is typed wrong is asked again."""

import click
import pytest

from tapewright.cli.line.margin_judges import after_sending, by_answers, by_operator
from tapewright.cli.run import run
from tapewright.core.alphabets import ITA2, encode

CODES = tuple(encode("SKERRY POINT", ITA2))


@pytest.fixture
def typed(monkeypatch):
    lines = []
    monkeypatch.setattr(click, "prompt", lambda *a, **k: lines.pop(0))
    return lines


@pytest.mark.parametrize(("said", "answer"), [
    ("right", "right"), ("W", "wrong"), ("?", "can't say"),
    ("can’t say", "can't say"), ("undo", "undo"), ("Stop", "stop"),
])  # fmt: skip
def test_words(typed, said, answer):
    typed.append(said)
    assert by_operator(None, CODES, "scale", ITA2, 50.0)(1, 84.0) == answer


def test_what_is_no_answer_is_asked_again(typed, capsys):
    typed += ["perhaps", "no-such-file.png", "r"]
    assert by_operator(None, CODES, "scale", ITA2, 50.0)(3, 84.0) == "right"
    told = capsys.readouterr().err
    assert "3. Set the pointer to 84." in told
    assert told.count("Expected one of") == 2


def test_the_line_is_sent_before_the_question(typed):
    sent = []
    typed += ["", "w"]
    judge = by_operator(lambda n, at: sent.append((n, at)), CODES, "signal", ITA2, 50.0)
    assert judge(2, -12.0) == "wrong"
    assert after_sending(lambda n, at: sent.append((n, at)), by_answers(iter(["right"])))(3, 4.0) == "right"
    assert sent == [(2, -12.0), (3, 4.0)]


def test_an_echo_and_a_picture_answer_for_the_operator(typed, tmp_path):
    judge = by_operator(None, CODES, "scale", ITA2, 1 / 0.022)
    run(["line", "compose", "RY SKERRY POINT RY", "-o", str(tmp_path / "echo.csv")])
    run(["line", "compose", "RY SKERRY PAINT RY", "-o", str(tmp_path / "wrong.csv")])
    run(["tape", "practice", "RYRYRYRY SKERRY POINT", "-o", str(tmp_path / "tape.png")])
    for name, answer in (("echo.csv", "right"), ("wrong.csv", "wrong"), ("tape.png", "right")):
        typed.append(str(tmp_path / name))
        assert judge(1, 60.0) == answer


def test_a_file_that_cannot_be_read_is_said_and_asked_again(typed, tmp_path, capsys):
    (tmp_path / "junk.csv").write_bytes(b"\x00\xff junk")
    typed += [str(tmp_path / "junk.csv"), "?"]
    assert by_operator(None, CODES, "scale", ITA2, 50.0)(1, 60.0) == "can't say"
    assert "junk.csv" in capsys.readouterr().err
