"""`tapewright line margin`: the practice machine, answers from a file, put down and taken up again, refusals."""

import json
import math
from pathlib import Path

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tapewright.alphabets import ITA2, encode
from tapewright.margin.find import holds
from tapewright.margin.judges import codes_in_capture, codes_in_picture
from tapewright.terminal.run import run

SCHEMA = json.loads((Path(__file__).parents[2] / "docs" / "reference" / "schemas" / "margin.json").read_text("utf-8"))


def document(capsys, *words):
    code = run(["line", "margin", *words, "--json"])
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, SCHEMA)
    return code, found


def answers(path, low, high, asked):
    """Answer as a machine that reads right from low to high would, for the settings asked."""
    path.write_text("\n".join("right" if low <= at <= high else "wrong" for at in asked))
    return str(path)


@pytest.mark.parametrize(("machine", "window", "centre"), [("heron", 0.16, 60), ("petrel", 0.30, 48)])
@pytest.mark.parametrize("way", ["scale", "signal"])
def test_the_practice_machine_has_the_margin_its_window_says(capsys, machine, window, centre, way):
    """Margin (1 - w) / 2 (derived in the reference), less what the scatter of the looks takes at both ends."""
    code, found = document(capsys, "--to", f"practice:{machine}", "--speed-proven", "--by", way)
    wanted = 100 * (1 - window) / 2
    assert found["margin_percent"]["value"] == pytest.approx(wanted, abs=3.5)
    assert len(found["questions"]) <= 14
    assert found["best_setting"]["value"] == pytest.approx(centre if way == "scale" else centre - 60, abs=3)
    assert code == {"within": 0, "outside": 1, "not shown": 3}[found["verdicts"][0]["state"]]


def test_marking_bias_takes_as_much_from_the_late_end(capsys):
    """Derived in the reference: bias of b points moves one limit by b points."""
    clean, biased = (document(capsys, "--to", "practice", *more)[1] for more in ([], ["--bias", "20"]))
    for end, moved in (("orientation_high", 20), ("orientation_low", 0)):
        was, now = clean[end], biased[end]
        assert was["value"] - now["value"] == pytest.approx(moved, abs=2 * math.hypot(was["u"], now["u"]))
        assert max(was["u"], now["u"]) < 3.5


def test_put_down_and_taken_up_again(capsys, tmp_path):
    """The same answers in one go and in pieces ask the same questions and give the same range."""
    whole = Path(tmp_path / "whole.txt")
    asked = []
    for _ in range(14):
        answers(whole, 21, 88, asked)
        found = document(capsys, "--answers", str(whole))[1]
        if found["next"] is None:
            break
        asked.append(found["next"])
    found = document(capsys, "--answers", answers(whole, 21, 88, asked))[1]
    session = tmp_path / "session.json"
    for n in range(len(asked)):
        part = answers(tmp_path / "part.txt", 21, 88, asked[n : n + 1])
        again = document(capsys, "--answers", part, "--session", str(session))[1]
    assert again == found
    assert found["orientation_low"]["value"] == pytest.approx(20.5, abs=2)
    assert found["orientation_high"]["value"] == pytest.approx(88.5, abs=2)
    assert not list(tmp_path.glob("*.unfinished"))
    assert run(["line", "margin", "--answers", str(whole), "--session", str(session), "--bias", "5"]) == 4
    assert "another bias_percent" in capsys.readouterr().err


def test_a_picture_of_the_tape_answers(tmp_path):
    run(["tape", "practice", "RYRYRYRY SKERRY POINT", "-o", str(tmp_path / "tape.png")])
    read = codes_in_picture(tmp_path / "tape.png", ITA2)
    assert any(holds(tuple(encode("SKERRY POINT", ITA2)), codes) for codes in read)
    assert not any(holds(tuple(encode("SKERRY PAINT", ITA2)), codes) for codes in read)


def test_an_echo_on_the_line_answers(tmp_path):
    run(["line", "compose", "SKERRY POINT RYRYRY", "-o", str(tmp_path / "echo.csv")])
    read = codes_in_capture(tmp_path / "echo.csv", 1 / 0.022)
    assert holds(tuple(encode("SKERRY POINT", ITA2)), read[0])


@pytest.mark.parametrize("words", [
    ["--scale", "0", "5"], ["--scale", "120", "0"], ["--by", "signal", "--scale", "-90", "90"], ["--to", "teapot"],
    ["--to", "serial:nowhere"], ["--most", "2"],
])  # fmt: skip
def test_wrong_use_is_said(capsys, words):
    assert run(["line", "margin", *words]) == 2
    assert "Traceback" not in capsys.readouterr().err


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.one_of(st.binary(max_size=120), st.sampled_from([b"[]", b'{"format": "tapewright/margin-session/1"}'])))
def test_any_bytes_as_a_session_or_as_answers(capsys, tmp_path, junk):
    (tmp_path / "junk").write_bytes(junk)
    assert run(["line", "margin", "--answers", str(tmp_path / "junk"), "--session", str(tmp_path / "junk")]) == 4
    assert (tmp_path / "junk").read_bytes() == junk
    assert "expected" in capsys.readouterr().err
