"""`tapewright practice`, played without a keyboard."""

import io
import json
from pathlib import Path

import jsonschema
import pytest

from tapewright.terminal.run import run

SCHEMA = Path(__file__).parents[2] / "docs" / "reference" / "schemas" / "practice.json"


def played(capsys, *words):
    code = run(["practice", *words])
    printed = capsys.readouterr()
    assert "Traceback" not in printed.err
    return code, printed.out


def test_the_right_remedy_mends_and_the_advisor_plays_the_same_machine(capsys):
    code, out = played(capsys, "--fault", "chad-jam", "--seed", "3", "--do", "remedy chad-jam", "--json")
    found = json.loads(out)
    jsonschema.validate(found, json.loads(SCHEMA.read_text(encoding="utf-8")))
    assert code == 0
    assert found["faults"] == ["chad-jam"]
    assert found["you"]["mended"]
    assert found["advisor"]["mended"]
    assert found["you"]["minutes"] == 10


def test_a_wrong_remedy_costs_minutes_and_mends_nothing(capsys):
    code, out = played(capsys, "--fault", "chad-jam", "--seed", "3", "--do", "remedy pin-broken", "--json")
    found = json.loads(out)
    assert code == 1
    assert not found["you"]["mended"]
    assert found["you"]["minutes"] == 90


def test_the_same_number_deals_the_same_machine(capsys):
    first, second = (played(capsys, "--seed", "41", "--do", "give up", "--json")[1] for _ in range(2))
    assert first == second


def test_timing_waits_for_a_proven_speed(capsys):
    _, out = played(capsys, "--seed", "5", "--do", "time-the-line", "--do", "measure-speed", "--do", "time-the-line")
    assert "Not before this is on record: speed proven" in out
    assert out.count("so far") == 2


def test_lines_can_be_piped_in(capsys, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO("advice\ntests speed\nmoonshine\nremedy moonshine\ngive up\n"))
    code, out = played(capsys, "--seed", "9")
    assert code == 1
    assert "measure-speed" in out
    assert "Not clear" in out
    assert "No cause" in out


def test_faults_are_listed_and_there_are_at_least_60(capsys):
    _, out = played(capsys, "--machine", "whole", "--list-faults")
    assert len(out.splitlines()) >= 60


@pytest.mark.parametrize("fault", ["moonshine", "platen-glazed"])
def test_a_fault_this_machine_cannot_have_is_wrong_use(capsys, fault):
    assert played(capsys, "--fault", fault)[0] == 2


def test_after_a_test_it_is_told_what_it_told_and_ruled_out(capsys):
    _, out = played(capsys, "--fault", "chad-jam", "--seed", "3", "--do", "chad-box-full", "--do", "give up")
    assert "yes: The chad box or chute is full or blocked" in out
    assert "told: chad" in out
    assert "(was " in out
