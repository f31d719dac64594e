"""`tapewright motor train, pinion, makeshift, speed`: documents against their schemas, exit codes, refusals."""

import json
from pathlib import Path

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tapewright.terminal.run import run

SCHEMAS = Path(__file__).parents[2] / "docs" / "reference" / "schemas"


def document(capsys, name, *words):
    code = run(["motor", *words, "--json"])
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, json.loads((SCHEMAS / f"{name}.json").read_text("utf-8")))
    return code, found


def test_train(capsys):
    code, found = document(capsys, "train", "train", "--gears", "14:60", "--units", "6.5", "--rpm", "1800")
    assert code == 0
    assert found["given"]["cam_shaft_rpm_exact"] == "420"
    assert found["error_percent"]["value"] == pytest.approx(0.1)
    assert document(capsys, "train", "train", "--gears", "14:60")[1]["given"] is None
    belt = ["--gears", "4:15", "--belt", "3:3", "--baud", "50", "--mains", "50"]
    code, found = document(capsys, "train", "train", *belt)
    assert code == 3, "a smooth belt's creep leaves it not shown"


def test_a_synchronous_motor_on_the_other_mains_is_outside(capsys):
    code, found = document(capsys, "train", "train", "--mains", "50", "--gears", "2:9", "--baud", "50")
    assert code == 1
    assert found["error_percent"]["value"] == pytest.approx(-100 / 6)


def test_pinion(capsys):
    both = ["--from-mains", "60", "--to-mains", "50"]
    code, found = document(capsys, "pinion", "pinion", "--gears", "20:75", *both)
    assert (code, found["factor"], found["pairs"][0]["residual"]) == (0, "6/5", "0")
    assert run(["motor", "pinion", "--gears", "20:75"]) == 2
    assert run(["motor", "pinion", "--gears", "20:75", "--from-mains", "60"]) == 2
    assert run(["motor", "pinion", "--gears", "20:75", *both, "--from-rpm", "1", "--to-rpm", "2"]) == 2


def test_makeshift(capsys):
    def call(*words):
        return document(capsys, "makeshift", "makeshift", "--belt", "30:90", *words)

    assert call()[0] == 3
    assert call("--readings", "1105,1098,1110,1092")[0] == 3
    assert call("--readings", "1105,998,1180,1092,950,1200,1101")[0] == 1
    assert call("--swing", "0.2", "--swing-u", "0.02")[0] == 0
    code, found = call("--swing", "1", "--swing-u", "0.1", "--swing-hz", "40", "--limit", "10")
    assert (code, found["verdicts"][0]["state"]) == (0, "within"), "a fast swing displaces less"
    assert found["must_turn_rpm_exact"] == "4500000/4081"


def test_the_caution_stands_first(capsys):
    for words in (["makeshift"], ["pinion", "--gears", "20:75", "--from-mains", "60", "--to-mains", "50"],
                  ["speed", "--tach", "400", "--baud", "50"]):  # fmt: skip
        run(["motor", *words])
        assert "Pull the plug" in capsys.readouterr().out.splitlines()[1]


def test_speed_by_ways_that_agree(capsys):
    words = ["--baud", "50", "--gears", "4:15", "--fork", "125", "--spots", "10", "--timed", "200/30.05"]
    code, found = document(capsys, "speed", "speed", *words, "--tach", "1502")
    assert code == 0
    assert found["consistent"]
    assert abs(found["error_percent"]["value"]) < 0.1


def test_speed_with_the_line(capsys, tmp_path):
    run(["line", "compose", "RYRYRYRYRYRYRYRY", "-o", str(tmp_path / "ry.csv"), "--speed-error", "2"])
    capsys.readouterr()
    run(["line", "read", str(tmp_path / "ry.csv"), "--json"])
    (tmp_path / "ry.json").write_text(capsys.readouterr().out)
    code, found = document(capsys, "speed", "speed", "--line", str(tmp_path / "ry.json"))
    assert code == 1
    assert found["error_percent"]["value"] == pytest.approx(2.0, abs=0.02)


@pytest.mark.parametrize("words", [
    ["speed"], ["speed", "--fork", "125"], ["speed", "--fork", "125", "--flashes", "100", "--spots", "3"],
    ["speed", "--timed", "200.5/30"], ["speed", "--timed", "0/30"], ["train", "--gears", "1.5:3"],
    ["train", "--units", "1"], ["train", "--rpm", "5", "--mains", "50"], ["train", "--mains", "50", "--poles", "3"],
    ["makeshift", "--readings", "1"],
    ["makeshift", "--readings", "1,2,x"], ["makeshift", "--swing", "1", "--readings", "1,2"],
])  # fmt: skip
def test_wrong_use_is_said(capsys, words):
    assert run(["motor", *words]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "Traceback" not in told.err
    assert len(told.err) > 20


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.one_of(st.binary(max_size=200), st.sampled_from([b"[]", b"{}", b'{"speed":{"unit_ms":null}}', b"[" * 5000])))
def test_any_bytes_as_a_line_document(capsys, tmp_path, junk):
    (tmp_path / "junk.json").write_bytes(junk)
    assert run(["motor", "speed", "--line", str(tmp_path / "junk.json")]) == 4
    assert "tapewright/line/1" in capsys.readouterr().err
