"""Who answers the margin search: the operator at the prompt, a picture, an echo; what is typed wrong is asked again."""

from pathlib import Path

import click
import pytest

from tapewright.alphabets import ITA2, encode
from tapewright.book.record import open_book
from tapewright.margin.files import JudgedFiles
from tapewright.margin.judges import after_sending, by_answers, by_operator
from tapewright.terminal.run import run

NOWHERE = JudgedFiles(Path("no-such-folder"))
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
    assert by_operator(None, CODES, "scale", ITA2, 50.0, NOWHERE)(1, 84.0) == answer


def test_what_is_no_answer_is_asked_again(typed, capsys):
    typed += ["perhaps", "no-such-file.png", "r"]
    assert by_operator(None, CODES, "scale", ITA2, 50.0, NOWHERE)(3, 84.0) == "right"
    told = capsys.readouterr().err
    assert "3. Set the pointer to 84." in told
    assert told.count("Expected one of") == 2


def test_the_line_is_sent_before_the_question(typed):
    sent = []
    typed += ["", "w"]
    judge = by_operator(lambda n, at: sent.append((n, at)), CODES, "signal", ITA2, 50.0, NOWHERE)
    assert judge(2, -12.0) == "wrong"
    assert after_sending(lambda n, at: sent.append((n, at)), by_answers(iter(["right"])))(3, 4.0) == "right"
    assert sent == [(2, -12.0), (3, 4.0)]


def test_an_echo_and_a_picture_answer_for_the_operator(typed, tmp_path):
    judge = by_operator(None, CODES, "scale", ITA2, 1 / 0.022, JudgedFiles(tmp_path / "judged"))
    run(["line", "compose", "RY SKERRY POINT RY", "-o", str(tmp_path / "echo.csv")])
    run(["line", "compose", "RY SKERRY PAINT RY", "-o", str(tmp_path / "wrong.csv")])
    run(["tape", "practice", "RYRYRYRY SKERRY POINT", "-o", str(tmp_path / "tape.png")])
    for name, answer in (("echo.csv", "right"), ("wrong.csv", "wrong"), ("tape.png", "right")):
        typed.append(str(tmp_path / name))
        assert judge(1, 60.0) == answer


def test_a_file_that_cannot_be_read_is_said_and_asked_again(typed, tmp_path, capsys):
    (tmp_path / "junk.csv").write_bytes(b"\x00\xff junk")
    typed += [str(tmp_path / "junk.csv"), "?"]
    assert by_operator(None, CODES, "scale", ITA2, 50.0, NOWHERE)(1, 60.0) == "can't say"
    assert "junk.csv" in capsys.readouterr().err


def test_files_that_answered_are_kept_though_the_scanner_writes_over_them(monkeypatch, tmp_path, capsys):
    for word in ("POINT", "PAINT"):
        run(["tape", "practice", f"RYRY SKERRY {word}", "-o", str(tmp_path / f"{word}.png")])
    pictures = [(tmp_path / f"{word}.png").read_bytes() for word in ("PAINT", "POINT", "PAINT", "POINT")]
    scan = tmp_path / "scan.png"
    said = [str(scan), "undo", str(scan), "y", str(scan), "stop"]

    def prompt(*_, **__):
        if said[0] == str(scan):
            scan.write_bytes(pictures.pop(0))
        return said.pop(0)

    monkeypatch.setattr(click, "prompt", prompt)
    book = str(tmp_path / "workshop.book")
    run(["machine", "add", "Petrel", "--nominal", "45.45", "--book", book])
    capsys.readouterr()
    session = str(tmp_path / "petrel.json")
    run(["line", "margin", "SKERRY POINT", "--for", "Petrel", "--book", book, "--session", session, "--json"])
    kept = open_book(book)
    line = kept.entries(kept.machine("Petrel").key, kinds=("evidence",))[-1].new
    sources = {s["role"]: s for s in line.body["sources"]}
    asked = line.body["result"]["questions"]
    kept.close()
    # the first answer was taken back; the second question was answered by word
    assert [(q["answer"], "judged_by" in q) for q in asked] == [("right", True), ("right", False), ("wrong", True)]
    assert {role: s["name"] for role, s in sources.items()} == {
        "question 1": "question-01-scan.png", "question 3": "question-03-scan.png"}
    assert sources["question 1"]["sha256"] != sources["question 3"]["sha256"]
