"""`tapewright diagnose` as a person and as a program use it."""

import json
from pathlib import Path

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tapewright.terminal.run import run

SCHEMA = Path(__file__).parents[2] / "docs" / "reference" / "schemas" / "diagnosis.json"


def told(capsys, *words):
    code = run(["diagnose", *words])
    printed = capsys.readouterr()
    return code, printed.out, printed.err


def document(capsys, *words):
    code, out, err = told(capsys, *words, "--json")
    assert code in (0, 1, 3), err
    found = json.loads(out)
    jsonschema.validate(found, json.loads(SCHEMA.read_text(encoding="utf-8")))
    return found


def test_document_is_that_of_the_contract(capsys):
    found = document(capsys, "--yes", "motor hums but does not start")
    assert found["format"] == "tapewright/diagnosis/1"
    assert {"stations", "causes", "next_tests", "unexplained"} <= set(found)
    assert found["causes"][0]["cause"] == "start-circuit-faulty"
    assert {"cause", "station", "probability", "for", "against", "missing"} <= set(found["causes"][0])
    keys = {"test", "minutes", "risk", "depth", "information_bits", "tells_apart", "cautions", "outcomes"}
    assert keys <= set(found["next_tests"][0])


def test_nothing_known_still_gives_one_thing_to_do(capsys):
    found = document(capsys)
    assert found["next_tests"]
    assert found["stop"] is None
    assert {station["state"] for station in found["stations"]} == {"not yet shown"}


def test_evidence_files_are_read_together(capsys, tmp_path):
    (tmp_path / "a.toml").write_text(
        'machine = "page-printer"\nyes = ["one element drops"]\n[[finding]]\nis = "better-warm"\n'
        '[[finding]]\nis = "element-drops"\nelement = 4\n'.replace('"one element drops"', '"selector levers gummy"'),
        encoding="utf-8",
    )
    (tmp_path / "b.json").write_text(json.dumps({"no": ["wrong-on-line"]}), encoding="utf-8")
    found = document(capsys, "--evidence", str(tmp_path / "a.toml"), "--evidence", str(tmp_path / "b.json"))
    assert found["machine"]["name"] == "page-printer"
    assert {e["finding"]: e["at"] for e in found["evidence"]}["element-drops"] == "element 4"
    assert found["causes"][0]["cause"] == "selector-lever-gummed"


def test_words_that_deny_turn_yes_into_no(capsys):
    found = document(capsys, "--yes", "line is right")
    assert [(e["finding"], e["state"]) for e in found["evidence"]] == [("wrong-on-line", "absent")]


def test_characters_sent_and_received_are_read(capsys):
    found = document(capsys, "--sent", "RYET", "--received", "YGTO")
    assert found["pairs"]["ranked"][0]["transformation"] == "every element read one late"
    assert any(e["finding"] == "reads-late" and e["state"] != "absent" for e in found["evidence"])


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--yes", "the moon is full"], "finding's id"),
        (["--machine", "moon"], "page-printer"),
        (["--done", "prayer"], "speed proven"),
        (["--tried", "prayer"], "contact-dirty"),
        (["--evidence", "nowhere.toml"], "nowhere.toml"),
        (["--sent", "R?", "--received", "\u00e9?"], "alphabet"),
    ],
)
def test_what_cannot_be_read_is_said_in_one_paragraph(capsys, words, says):
    code, out, err = told(capsys, *words)
    assert code == 4
    assert out == ""
    assert says in err
    assert "Traceback" not in err


def test_sent_without_received_is_wrong_use(capsys):
    assert told(capsys, "--sent", "R")[0] == 2


def test_list_finds_ids_by_words(capsys):
    code, out, _ = told(capsys, "--list", "tape edge holes wander")
    assert code == 0
    assert out.startswith("edge-distance-wanders")
    assert len(told(capsys, "--list")[1].splitlines()) >= 200


def test_limits_are_kept(capsys):
    for risk, depth, minutes in (("none", "none", "2"), ("hand", "covers", "10")):
        found = document(capsys, "--yes", "reads late", "--risk", risk, "--depth", depth, "--minutes", minutes)
        risks, depths = ["none", "hand", "power", "loop"], ["none", "covers", "assembly", "strip"]
        for test in found["next_tests"]:
            assert risks.index(test["risk"]) <= risks.index(risk)
            assert depths.index(test["depth"]) <= depths.index(depth)
            assert test["minutes"] <= float(minutes)


def test_no_power_before_the_dead_check_and_no_timing_before_speed(capsys):
    words = ["--yes", "isolated-marks-lost", "--yes", "element-drops", "--machine", "page-printer"]
    cold = document(capsys, *words)
    assert all(t["risk"] not in ("power", "loop") for t in cold["next_tests"])
    safe = document(capsys, *words, "--done", "dead electrical check")
    assert all(t["test"] not in ("sweep-orientation", "time-the-line") for t in safe["next_tests"])


def test_a_remedy_done_in_vain_counts_against_its_cause(capsys):
    words = ["--yes", "ragged-marks", "--yes", "contacts-dark-or-oily"]
    before = {c["cause"]: c["probability"] for c in document(capsys, *words)["causes"]}
    after = {c["cause"]: c["probability"] for c in document(capsys, *words, "--tried", "contact-dirty")["causes"]}
    assert after["contact-dirty"] < before["contact-dirty"]


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=200) | st.text(max_size=80).map(lambda text: text.encode("utf-8", "ignore")))
def test_any_bytes_are_taken_or_refused(tmp_path, capsys, content):
    path = tmp_path / "evidence.toml"
    path.write_bytes(content)
    assert run(["diagnose", "--evidence", str(path), "--json"]) in (0, 1, 3, 4)
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize("wrong", ["tapewright/line/99", "tapewright/trim/1", 3])
def test_a_document_that_is_no_evidence_is_refused_not_passed_over(tmp_path, capsys, wrong):
    (tmp_path / "e.json").write_text(json.dumps({"format": wrong, "cautions": []}))
    code, out, err = told(capsys, "--evidence", str(tmp_path / "e.json"))
    assert (code, out) == (4, "")
    assert "key 'format'" in err
    assert str(wrong) in err
