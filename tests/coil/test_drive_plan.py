"""`tapewright drive plan`: document, report, picture, exit codes."""

import json
import xml.etree.ElementTree as ET
from pathlib import Path

import jsonschema
import pytest

from tapewright.terminal.run import run

SCHEMA = Path(__file__).parents[2] / "docs" / "reference" / "schemas" / "drive.json"
COIL = ["--coil-ohm", "66", "--coil-h", "1.7", "--pull-in", "0.024", "--drop-out", "0.012"]
LOOP = ["--volts", "120", "--series-ohm", "1934", "--unit", "22"]


def planned(capsys, *more, code=0):
    assert run(["drive", "plan", *COIL, *LOOP, *more, "--json"]) == code
    return json.loads(capsys.readouterr().out)


@pytest.mark.parametrize(
    "more",
    [
        (), ("--suppressor", "diode"), ("--suppressor", "diode+r", "--suppressor-ohm", "470"),
        ("--suppressor", "zener", "--suppressor-volts", "100"),
        ("--suppressor", "rc", "--suppressor-ohm", "100", "--suppressor-farad", "1e-6", "--across", "contact"),
        ("--suppressor", "diode+r", "--suppressor-ohm", "470", "--limit", "0.05", "--text", "RYRY"),
    ],
)  # fmt: skip
def test_document_is_the_one_promised(capsys, more):
    run(["drive", "plan", *COIL, *LOOP, *more, "--json"])
    jsonschema.validate(json.loads(capsys.readouterr().out), json.loads(SCHEMA.read_text("utf-8")))


def test_a_drive_that_receives_is_done(capsys):
    document = planned(capsys, "--suppressor", "zener", "--suppressor-volts", "100")
    assert document["stream"]["missed_marks"] == document["stream"]["missed_spaces"] == 0
    assert document["steady_a"] == pytest.approx(0.06)


def test_a_plain_diode_holds_the_armature_past_an_element(capsys):
    # common practice, no source: a plain diode holds this magnet 29 ms, longer than an element of 22 ms
    document = planned(capsys, "--suppressor", "diode", code=1)
    assert document["release_ms"] == pytest.approx(29, rel=0.02)
    assert document["stream"]["missed_spaces"] > 20
    (follows,) = [v for v in document["verdicts"] if v["check"].startswith("elements")]
    assert follows["state"] == "outside"


def test_bias_by_hand_and_by_text_agree_when_everything_settles(capsys):
    document = planned(capsys, "--suppressor", "zener", "--suppressor-volts", "100")
    by_hand = (document["release_ms"] - document["operate_ms"]) / 22 * 100
    assert document["added_bias_percent"] == pytest.approx(by_hand)
    assert document["stream"]["bias_percent"] == pytest.approx(by_hand, abs=0.01)
    for element in document["stream"]["per_element"][:4]:
        assert element["mark_longer_percent"] == pytest.approx(by_hand, abs=0.01)


def test_a_limit_of_the_owner_is_judged(capsys):
    more = ("--suppressor", "zener", "--suppressor-volts", "100", "--most-bias")
    assert planned(capsys, *more, "5")["verdicts"][0]["state"] == "within"
    assert planned(capsys, *more, "1.7", code=3)["verdicts"][0]["state"] == "not shown"
    assert planned(capsys, *more, "0.5", code=1)["verdicts"][0]["state"] == "outside"


def test_cautions_come_before_the_first_number(capsys):
    run(["drive", "plan", *COIL, *LOOP])
    out = capsys.readouterr().out
    assert out.index("Before anything is switched on") < out.index("can kill") < out.index("Steady current")
    for word in ("safe to", "is safe", "harmless circuit"):
        assert word not in out


def test_six_volt_needs_fewer_cautions(capsys):
    run(["drive", "plan", *COIL, "--volts", "6", "--unit", "22", "--suppressor", "diode"])
    assert "can kill" not in capsys.readouterr().out


def test_pull_in_above_steady_current_is_refused(capsys):
    assert run(["drive", "plan", *COIL, "--volts", "1", "--unit", "22"]) == 4
    said = capsys.readouterr()
    assert "coil.pull_in_a" in said.err
    assert said.out == ""


def test_nothing_to_plan_is_wrong_use(capsys):
    assert run(["drive", "plan"]) == 2


def test_picture_is_drawn(capsys, tmp_path):
    picture = tmp_path / "drive.svg"
    run(["drive", "plan", *COIL, *LOOP, "--suppressor", "diode", "--out-plot", str(picture)])
    text = picture.read_text("utf-8")
    ET.fromstring(text)
    assert "releases after" in text
    assert "missed" in text


def test_search_plans_its_best_choice_and_draws_the_trade(capsys, tmp_path):
    picture = tmp_path / "trade.svg"
    words = ["--volts", "120", "--unit", "22", "--search", "--text", "RYRY", "--out-plot", str(picture), "--json"]
    assert run(["drive", "plan", *COIL, *words]) == 0
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, json.loads(SCHEMA.read_text("utf-8")))
    first = document["search"]["choices"][0]
    assert document["series"]["r_ohm"] == first["series_ohm"]
    assert first["peak_v"] <= 300
    assert first["worst_percent"] <= 5
    ET.fromstring(picture.read_text("utf-8"))


def test_a_search_that_finds_nothing_says_so(capsys):
    words = ["--volts", "6", "--unit", "5", "--search", "--most-bias", "0.5", "--text", "RY"]
    run(["drive", "plan", *COIL, *words])
    assert "No drive meets all of that" in capsys.readouterr().out
