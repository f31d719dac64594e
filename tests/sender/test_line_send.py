"""`tapewright line send`: documents, the caution first, refusals, the practice machine."""

import json
from pathlib import Path

import jsonschema
import pytest

from tapewright.terminal.run import run

SCHEMAS = Path(__file__).parents[2] / "docs" / "reference" / "schemas"


def document(capsys, name, *words):
    assert run(["line", "send", *words, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, json.loads((SCHEMAS / f"{name}.json").read_text("utf-8")))
    return found


def test_the_list(capsys):
    found = document(capsys, "sinks", "--list")
    assert [s["kind"] for s in found["sinks"]] == ["practice", "wav", "sound", "serial"]


def test_the_practice_machine_prints(capsys):
    found = document(capsys, "sent", "SKERRY POINT", "--to", "practice")
    assert found["printed"]["text"] == "SKERRY POINT"
    assert found["printed"]["as_sent"]
    spoilt = document(capsys, "sent", "SKERRY POINT", "--to", "practice:petrel", "--bias", "35")
    assert not spoilt["printed"]["as_sent"]


def test_a_file(capsys, tmp_path):
    found = document(capsys, "sent", "RY", "--to", str(tmp_path / "ry.wav"), "--tone", "2000", "--bias", "10")
    assert (found["bias_percent"], found["sink"]) == (10.0, "ry.wav")
    assert (tmp_path / "ry.wav").stat().st_size > 10_000
    assert not list(tmp_path.glob("*.unfinished"))


def test_cautions_stand_before_a_loop_is_driven(capsys):
    assert run(["line", "send", "RY", "--to", "serial:nowhere"]) == 2
    told = capsys.readouterr()
    assert "proved dead" in told.err
    assert "--acknowledged" in told.err
    assert run(["line", "send", "RY", "--to", "serial:nowhere", "--acknowledged"]) == 4
    assert "Ports found here" in capsys.readouterr().err


@pytest.mark.parametrize("words", [
    ["RY"], ["RY", "--to", "teapot"], ["RY", "--to", "serial"], ["RY", "--to", "x.wav", "--tone", "100"],
    ["RY", "--to", "practice:gull"], ["--to", "practice"], ["RY", "--pattern", "ry", "--to", "practice"],
])  # fmt: skip
def test_wrong_use_is_said(capsys, tmp_path, monkeypatch, words):
    monkeypatch.chdir(tmp_path)
    assert run(["line", "send", *words]) == 2
    assert len(capsys.readouterr().err) > 20
    assert not list(tmp_path.iterdir())


def test_by_uart_refuses_what_it_cannot_send(capsys):
    words = ["RY", "--to", "serial:nowhere", "--by", "uart", "--bias", "10", "--acknowledged"]
    assert run(["line", "send", *words]) == 2
    assert "distorted on purpose" in capsys.readouterr().err


def test_nothing_is_not_sent(capsys):
    assert run(["line", "send", "", "--to", "practice"]) == 2
    assert run(["line", "margin", "", "--to", "practice"]) == 2
    assert "empty" in capsys.readouterr().err


def test_a_folder_that_is_not_there(capsys, tmp_path):
    assert run(["line", "send", "RY", "--to", str(tmp_path / "nowhere" / "x.wav")]) == 4
    assert "Traceback" not in capsys.readouterr().err
