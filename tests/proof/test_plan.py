"""The test plan: its arithmetic by hand, its commands run, what of it is done seen in the codes."""

import json
from dataclasses import replace

import pytest

from proof.practice_book import Record
from tapewright.alphabets import ITA2, US_COMMERCIAL
from tapewright.message.test_texts import pattern
from tapewright.proof.coverage import MEASURES
from tapewright.proof.lines import evidence_of
from tapewright.proof.plan import make_plan, pace_from, usual_units
from tapewright.proof.planned_tests import TESTS
from tapewright.proof.prove_machine import pattern_lengths, prove_entries
from tapewright.terminal.run import run

LENGTHS = pattern_lengths()["ita2"]
NOMINAL = pace_from("Petrel", "ita2", ITA2, 45.45, "", None, None)


def by_key(plan):
    return {test.test: test for test in plan.tests}


def line_document(codes, *, sent=None, pause_at=(), character_ms=163.24):
    """Return as much of a line document as the plan looks at."""
    starts, now = [], 0.3
    for n in range(len(codes)):
        now += 1.5 if n in pause_at else 0.0
        starts.append({"start_s": now})
        now += character_ms / 1e3
    errors = None
    if sent is not None:
        pairs = [{"sent": s, "received": r} for s, r in zip(sent, codes, strict=True)]
        errors = {"sent": len(sent), "wrong": 0, "kinds": {}, "alignment": pairs}
    return {"format": "tapewright/line/1", "codes": codes, "characters": starts, "errors": errors,
            "speed": {"character_ms": {"value": character_ms, "u": 0.01, "unit": "ms", "n": 9}, "proven": True}}


def planned(*results, **conditions):
    record = Record()
    for result in results:
        record.measured("line", "as left", result, **conditions)
    return by_key(make_plan(NOMINAL, LENGTHS, evidence_of(record.all())))


def test_character_of_the_22_ms_class_takes_163_24_ms():
    """7.42 units of 22 ms; the trade's figure for 60 words a minute is 163 ms (Army subcourse SS0330)."""
    assert 1e3 * NOMINAL.character_s == pytest.approx(163.24)
    assert usual_units(50.0) == 7.5
    assert pace_from("x", "ita2", ITA2, 50.0, "", None, None).character_s == pytest.approx(0.150)


def test_time_and_tape_of_a_hundred_blanks_by_hand():
    blank = by_key(make_plan(NOMINAL, LENGTHS))["blank"]
    assert blank.seconds == pytest.approx(16.324)
    assert blank.tape_m == pytest.approx(0.254)


def test_the_claim_sets_the_length_of_the_full_speed_test():
    full = by_key(make_plan(NOMINAL, LENGTHS, one_in=3000))["full-speed"]
    assert full.want == 8986
    assert full.characters >= full.want
    assert full.characters % LENGTHS["all-pairs"] == 0


def test_every_test_the_job_asks_for_is_in_the_plan():
    asked = {"blank", "all-marks", "r-y", "single-marks", "single-spaces", "all-codes", "all-pairs", "pangram",
             "full-speed", "hand-keyed", "cold", "warm", "supply-low", "supply-high"}
    assert asked <= {row.key for row in TESTS}
    assert {row.measure for row in TESTS} <= set(MEASURES)


def test_power_steps_have_their_caution_before_the_step():
    for row in TESTS:
        if row.key.startswith("supply"):
            assert any("licensed practice" in c and "Mains" in c for c in row.cautions)
        assert row.cautions


@pytest.mark.parametrize("alphabet", ["ita2", "us"])
def test_every_command_composes_what_it_says(alphabet, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    table = {"ita2": ITA2, "us": US_COMMERCIAL}[alphabet]
    pace = pace_from("Old 'Petrel' 2", alphabet, table, 50.0, "", None, None)
    for test in make_plan(pace, pattern_lengths()[alphabet]).tests:
        if not test.command:
            assert test.test == "hand-keyed" or test.check.startswith("tapewright line margin")
            continue
        words = test.command.replace(".wav", ".csv").split()  # the same signal in a file that is quick to write
        assert run([*words[1:], "--json"]) == 0, test.command
        written = json.loads(capsys.readouterr().out)
        assert len(written["codes"]) == test.characters


@pytest.mark.parametrize("key", ["blank", "all-marks", "r-y", "single-spaces", "all-codes", "pangram"])
def test_what_a_test_composes_reads_clean_by_its_own_check(key, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    test = by_key(make_plan(NOMINAL, LENGTHS))[key]
    assert run(test.command.replace(".wav", ".csv").split()[1:]) == 0
    capsys.readouterr()
    words = test.check.replace("CAPTURE", f"petrel-{key}.csv").partition(" --machine")[0].split()
    run([*words[1:], "--json"])
    errors = json.loads(capsys.readouterr().out)["errors"]
    assert (errors["sent"], errors["wrong"]) == (test.characters, 0)


ODD = ("pattern:", "pattern:none", "pattern:ry:0", "pattern:ry:x", "pattern:ry:9" + "9" * 5000)


@pytest.mark.parametrize("said", ODD, ids=range(len(ODD)))
def test_a_pattern_that_is_none_is_refused(said, tmp_path, capsys):
    file = tmp_path / "ry.csv"
    assert run(["line", "compose", "RY", "-o", str(file)]) == 0
    assert run(["line", "read", str(file), "--expect", said]) == 2
    assert "pattern:NAME" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("key", "name", "count"),
    [("blank", "blank", 100), ("all-marks", "letters", 100), ("r-y", "ry", 200), ("single-marks", "single-marks", 201),
     ("single-spaces", "single-spaces", 201), ("all-codes", "all-codes", None), ("all-pairs", "all-pairs", None),
     ("pangram", "pangram", None)],
)  # fmt: skip
def test_a_pattern_that_was_sent_is_seen_to_be_done(key, name, count):
    found = planned(line_document(pattern(name, ITA2, count)))
    assert found[key].done == "done"
    half = pattern(name, ITA2, count)
    assert planned(line_document(half[: len(half) // 2]))[key].done in ("in part", "not done")


def end(value, u):
    return {"value": value, "u": u, "unit": "points", "n": 14}


MARGIN = {"format": "tapewright/margin/1", "state": "found", "speed_proven": True, "margin_at_least_percent": None,
          "orientation_low": end(20.0, 0.9), "orientation_high": end(100.0, 0.9)}  # fmt: skip


@pytest.mark.parametrize(("changed", "done"), [
    ({}, "done"), ({"speed_proven": False}, "not done"), ({"state": "nowhere"}, "not done"),
    ({"orientation_high": None, "margin_at_least_percent": 48.0}, "done"),
    ({"orientation_high": end(100.0, 3.0)}, "in part"), ({"orientation_high": None}, "in part"),
])  # fmt: skip
def test_a_receivers_range_is_done_by_a_sweep_at_proven_speed(changed, done):
    record = Record()
    record.measured("margin", "as left", MARGIN | changed)
    test = by_key(make_plan(NOMINAL, LENGTHS, evidence_of(record.all())))["margin"]
    assert test.done == done
    assert test.check == 'tapewright line margin --to sound --speed-proven --for Petrel --phase "as left"'


def test_what_was_only_sent_covers_no_test():
    record = Record()
    record.measured("sent", "as left", {"format": "tapewright/sent/1", "codes": pattern("all-codes", ITA2)})
    assert by_key(make_plan(NOMINAL, LENGTHS, evidence_of(record.all())))["all-codes"].done == "not done"


def test_what_was_sent_counts_where_it_is_known_not_what_came_wrong():
    sent = pattern("all-codes", ITA2)
    came = ["00000"] * 32
    assert planned(line_document(came, sent=sent))["all-codes"].done == "done"
    assert planned(line_document(sent, sent=came))["all-codes"].have == 1


def test_full_speed_and_keyed_by_hand_are_told_by_the_times():
    codes = pattern("ry", ITA2, 120)
    flowing, halting = planned(line_document(codes)), planned(line_document(codes, pause_at=range(1, 120)))
    assert flowing["full-speed"].have == 119
    assert flowing["hand-keyed"].have == 0
    assert halting["hand-keyed"].done == "done"
    assert halting["full-speed"].have == 0


@pytest.mark.parametrize(
    ("key", "conditions"),
    [("cold", {"running_minutes": 2}), ("warm", {"running_minutes": 45}), ("supply-low", {"supply_percent": -10}),
     ("supply-high", {"supply_percent": 9.0})],
)  # fmt: skip
def test_conditions_count_where_they_are_on_record(key, conditions):
    codes = pattern("ry", ITA2, 200)
    assert planned(line_document(codes), **conditions)[key].done == "done"
    assert planned(line_document(codes))[key].done == "not done"
    assert planned(line_document(codes), running_minutes=15, supply_percent=-5)[key].done == "not done"


def test_measured_pace_stands_before_the_nominal_one():
    record = Record()
    record.write("identity", {"name": "Petrel", "nominal_baud": 50})
    record.measured("line", "as left", line_document(["00000"] * 9, character_ms=151.0))
    plan = prove_entries("Petrel", "0" * 32, record.all()).plan
    assert plan.character_ms == pytest.approx(151)
    assert plan.character_from.startswith("measured")
    unproven = line_document(["00000"] * 9, character_ms=151.0)
    unproven["speed"]["proven"] = False
    record.measured("line", "as left", unproven)
    assert prove_entries("Petrel", "0" * 32, record.all()).plan.character_ms == pytest.approx(150)


def test_a_plan_for_no_claim_at_all_is_refused():
    with pytest.raises(ValueError, match="between 0 and 1"):
        make_plan(replace(NOMINAL), LENGTHS, one_in=1)
