"""Trials on the page: what is typed reaches trim as it was meant, undo takes back, the turn is drawn the right way."""

import json
import re

import pytest

from tapewright.bench.drawn.screws import in_words, turn
from tapewright.terminal.run import run

from .test_gauges import SHEET


@pytest.fixture
def trials(caller, petrel):
    path = f"/machines/{petrel}/trials"

    def act(action, **fields):
        return caller.post(f"{path}/{action}.json", data={k.replace("_", "-"): v for k, v in fields.items()},
                           headers={"x-bench-key": caller.key})  # fmt: skip

    act.page = lambda: caller.get(f"{path}.json").json()
    act.text = lambda: caller.get(path).text
    caller.post(f"/machines/{petrel}/gauges/sheet.json", data={"text": SHEET}, headers={"x-bench-key": caller.key})
    return act


def test_trials_typed_in_end_as_the_command_advises_from_the_same_file(trials, bench, petrel, tmp_path, capsys):
    assert [r["id"] for r in trials.page()["can"]] == ["end-play"]
    assert trials("begin", screw_0="collar", most="0.5", read_end_play="0.30").status_code == 200
    assert trials.page()["advice"]["state"] == "probe"
    # a made-up collar that takes 0.4 mm of play a turn
    assert trials("add", turned_0="0.25", read_0="0.19 0.21").status_code == 200
    page = trials.page()
    assert page["advice"]["state"] == "move"
    move = page["moves"][0]
    # by hand: 0.20 - 0.4 x = 0.10 in the middle of 0.05 .. 0.15, x = 0.25 turn, give or take a quarter of the limit
    assert move["amount"] == pytest.approx(0.25, abs=0.08)
    assert move["from"] == 0.25
    assert move["degrees"] == pytest.approx(360 * move["amount"], abs=0.1)
    line = bench.book.entries(petrel, kinds=("trial",), limit=1)[0]
    with bench.book.raw(line.new.files[0]) as stream:
        (tmp_path / "trials.toml").write_bytes(stream.read())
    capsys.readouterr()
    run(["trim", str(tmp_path / "trials.toml"), "--json"])
    told = json.loads(capsys.readouterr().out)
    assert told["move"] == {"collar": move["amount"]}
    assert told["why"] == page["advice"]["why"]
    assert trials("add", turned_0="0.25", read_0="0.09 0.11").status_code == 200
    assert trials.page()["advice"]["state"] == "done"
    assert "Done" in trials.text()


def test_undo_takes_the_last_one_back_and_rubs_nothing_out(trials, bench, petrel):
    trials("begin", screw_0="collar", read_end_play="0.30")
    trials("add", turned_0="-0.5", read_0=">0.4")
    before = bench.book.machine(petrel).entries
    assert [t["at"] for t in trials.page()["log"]] == [[-0.5], [0.0]]
    assert trials.page()["log"][0]["read"] == ["above 0.4"]
    assert trials("undo").status_code == 200
    assert [t["at"] for t in trials.page()["log"]] == [[0.0]]
    assert bench.book.machine(petrel).entries == before + 1
    assert trials("undo").status_code == 422, "as found stays"


def test_inches_are_taken_as_inches(trials):
    trials("begin", screw_0="collar", read_end_play="0.004", unit="inch")
    # by hand: 0.004 in = 0.1016 mm, inside 0.05 .. 0.15 by more than twice 0.01
    page = trials.page()
    assert page["readings"][0]["verdict"]["value"] == pytest.approx(0.1016, abs=1e-6)
    assert page["readings"][0]["verdict"]["state"] == "within"


@pytest.mark.parametrize("fields", [
    {"turned_0": "a bit", "read_0": "0.2"}, {"turned_0": "nan", "read_0": "0.2"}, {"turned_0": "0.1", "read_0": ""},
    {"turned_0": "0.1", "read_0": "0.3 0.2"}, {"turned_0": "1e9", "read_0": "0.2"},
])  # fmt: skip
def test_what_makes_no_trial_is_refused_and_not_written(trials, bench, petrel, fields):
    trials("begin", screw_0="collar", read_end_play="0.30")
    before = bench.book.machine(petrel).entries
    assert trials("add", **fields).status_code == 422
    assert bench.book.machine(petrel).entries == before


@pytest.mark.parametrize("fields", [
    {}, {"screw_0": "a"}, {"screw_0": "a", "screw_1": "a", "read_end_play": "0.3"}, {"text": "knobs = 3"},
])  # fmt: skip
def test_trials_do_not_begin_from_nonsense(trials, fields):
    assert trials("begin", **fields).status_code == 422


def test_play_and_stops_can_be_typed_and_trim_keeps_off_the_stop(trials):
    began = trials("begin", screw_0="collar", most="0.5", play_0="0.05", on_0="0.1", read_end_play="0.30")
    assert began.status_code == 200
    knob = trials.page()["knobs"][0]
    assert (knob["play"], knob["back"], knob["on"]) == (0.05, None, 0.1)
    # 0.4 mm a turn and 0.30 as found want 0.5 turn on; the stop is 0.1 turn away
    trials("add", turned_0="0.1", read_0="0.25 0.27")
    page = trials.page()
    assert page["knobs"][0]["on"] == 0.0
    assert all(move["to"] <= 0.1 + 1e-9 if "to" in move else move["amount"] <= 1e-9 for move in page["moves"])
    # the stop was not the end: put right where it stands
    assert trials("screws", play_0="0.02", on_0="1", back_0="2", most_0="0.25").status_code == 200
    knob = trials.page()["knobs"][0]
    assert (knob["play"], knob["back"], knob["on"], knob["most"]) == (0.02, 2.0, 1.0, 0.25)
    assert trials.page()["advice"]["state"] == "move"


def test_as_found_can_be_mended_and_the_old_line_stays(trials, bench, petrel):
    trials("begin", screw_0="collar", read_end_play="3.0")
    trials("add", turned_0="0.25", read_0="0.19 0.21")
    before = bench.book.machine(petrel).entries
    assert trials("mend", trial="0", read_0="0.30").status_code == 200
    assert [t["read"] for t in trials.page()["log"]] == [["0.19 to 0.21"], ["0.3"]]
    assert bench.book.machine(petrel).entries == before + 1
    for fields in ({"trial": "2", "read_0": "0.3"}, {"trial": "0", "read_0": ""}, {"trial": "0.5", "read_0": "0.3"}):
        assert trials("mend", **fields).status_code == 422
    for fields in ({"play_0": "-1"}, {"back_0": "0.1"}, {"on_0": "far"}):
        assert trials("screws", **fields).status_code == 422, fields
    assert bench.book.machine(petrel).entries == before + 1


def test_a_turn_in_words_and_on_the_face():
    assert in_words(90) == "clockwise by 90°, about a quarter turn"
    assert in_words(-450) == "anticlockwise by 1 whole turn and 90°, about a quarter turn"
    # the minute hand goes 6 degrees a minute
    assert in_words(60) == "clockwise by 60°; the minute hand goes so far in 10 min"
    for amount, x, y in ((0.25, 114, 70), (-0.25, 26, 70), (0.5, 70, 114), (1.25, 114, 70)):
        hand = re.fullmatch(r"M70\.0 70\.0L([\d.]+) ([\d.]+)", turn("a", "turn", amount, 0.0)["hand"])
        assert (float(hand[1]), float(hand[2])) == pytest.approx((x, y), abs=0.1)
    assert turn("supply", "V", -3.0, 110.0)["degrees"] is None
