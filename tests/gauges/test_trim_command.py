"""`tapewright trim` from the command line: the contract's example, both file kinds, schema, exit codes."""

import json
from pathlib import Path

import jsonschema
import pytest

from tapewright.terminal.run import run

SCHEMA = Path(__file__).parents[2] / "docs" / "reference" / "schemas" / "trim.json"
TOML = """
[[knobs]]
name = "low screw"
unit = "turn"
step_limit = 0.5
play = 0.02
[[readings]]
name = "low travel"
unit = "mm"
low = 0.20
high = 0.28
u = 0.01
[[trials]]
at = { "low screw" = 0.0 }
read = { "low travel" = [0.40, 0.42] }
"""
CSV = """trial,low screw,low travel
role,knob,reading
unit,turn,mm
step_limit,0.5,
play,0.02,
low,,0.20
high,,0.28
u,,0.01
1,0.0,0.40..0.42
"""


def trim(tmp_path, capsys, text, name="t.toml"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    code = run(["trim", str(path), "--json"])
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, json.loads(SCHEMA.read_text("utf-8")))
    return code, document


def test_as_found_asks_for_a_probe(tmp_path, capsys):
    code, document = trim(tmp_path, capsys, TOML)
    assert (code, document["state"], document["trials"]) == (1, "probe", 1)
    assert 0 < abs(document["move"]["low screw"]) <= 0.5


def test_a_table_says_the_same_as_toml(tmp_path, capsys):
    assert trim(tmp_path, capsys, CSV, "t.csv") == trim(tmp_path, capsys, TOML)


def test_the_same_trials_give_the_same_advice(tmp_path, capsys):
    assert trim(tmp_path, capsys, TOML) == trim(tmp_path, capsys, TOML)


def test_a_second_trial_gives_a_move_that_lands_by_the_rule_of_three(tmp_path, capsys):
    # -0.4 mm/turn by the two trials, 0.07 mm to go from 0.31 to the middle 0.24: 0.175 turn more
    second = '[[trials]]\nat = { "low screw" = 0.25 }\nread = { "low travel" = [0.30, 0.32] }\n'
    code, document = trim(tmp_path, capsys, TOML + second)
    assert (code, document["state"]) == (1, "move")
    assert document["move"]["low screw"] == pytest.approx(0.175, abs=0.05)
    assert document["sensitivity"]["low travel"]["low screw"]["value"] == pytest.approx(-0.4, abs=0.05)


def test_inside_is_done(tmp_path, capsys):
    code, document = trim(tmp_path, capsys, TOML.replace("[0.40, 0.42]", "[0.24, 0.26]"))
    assert (code, document["state"], document["move"]) == (0, "done", {})


def test_the_bench_text_says_what_to_turn_and_how_to_go_back(tmp_path, capsys):
    path = tmp_path / "t.toml"
    path.write_text(TOML)
    assert run(["trim", str(path)]) == 1
    said = capsys.readouterr().out
    assert "Turn low screw by" in said
    assert "To undo: low screw to 0" in said


@pytest.mark.parametrize(
    ("was", "becomes", "place"),
    [
        ("play = 0.02", "play = -1", "line 6, key 'knobs[0].play'"),
        ("play = 0.02", "slack = 0.02", "line 6, key 'knobs[0].slack'"),
        ("high = 0.28", "high = 0.10", "line 10, key 'readings[0].low'"),
        ("[0.40, 0.42]", "[0.42, 0.40]", "line 15, key 'trials[0].read.low travel'"),
        ('at = { "low screw" = 0.0 }', 'at = { "lo screw" = 0.0 }', "line 14, key 'trials[0].at.lo screw'"),
        ("step_limit = 0.5", "step_limit = nan", "line 5, key 'knobs[0].step_limit'"),
    ],
)
def test_faults_are_told_with_their_place(tmp_path, capsys, was, becomes, place):
    path = tmp_path / "t.toml"
    path.write_text(TOML.replace(was, becomes))
    assert run(["trim", str(path), "--json"]) == 4
    said = capsys.readouterr()
    assert place in said.err
    assert said.out == ""


SHEET = """machine = "Plover"
source = { document = "Plover's notes", place = "p. 4", standing = "published" }
[[requirement]]
id = "low-travel"
station = "punch"
what = "travel of the low pin"
limit = "both"
unit = "mm"
test = { low = 0.18, high = 0.30 }
readjust = { low = 0.20, high = 0.28 }
stage = "clearance"
quantity = "travel"
gauge = "leaf"
cautions = ["Plug out: pins shear fingers"]
"""
BY_SHEET = TOML.replace('unit = "mm"\nlow = 0.20\nhigh = 0.28\nu = 0.01', 'requirement = "low-travel"')


def with_sheet(tmp_path, capsys, text, *more):
    (tmp_path / "t.toml").write_text(text, encoding="utf-8")
    (tmp_path / "plover.toml").write_text(SHEET, encoding="utf-8")
    code = run(["trim", str(tmp_path / "t.toml"), "--sheet", str(tmp_path / "plover.toml"), "--json", *more])
    said = capsys.readouterr()
    return code, json.loads(said.out) if code != 4 else said.err


def test_limits_gauge_and_cautions_come_from_the_sheet(tmp_path, capsys):
    code, document = with_sheet(tmp_path, capsys, BY_SHEET)
    (now,) = document["now"]
    assert (code, now["low"], now["high"], now["unit"]) == (1, 0.20, 0.28, "mm")
    assert "Plover's notes" in now["source"]
    assert document["cautions"][0] == "Plug out: pins shear fingers"
    # a leaf gauge of +/- 0.005 mm, rectangular, and a feel of 0.005 mm: 0.00577 by hand
    assert "u 0.0058 mm was taken from the kind of gauge, leaf gauge (common practice, no source)" in document["why"]


def test_what_the_trials_file_states_goes_before_the_sheet(tmp_path, capsys):
    own = BY_SHEET.replace('requirement = "low-travel"', 'requirement = "low-travel"\nlow = 0.5\nhigh = 0.6\nu = 0.01')
    _, document = with_sheet(tmp_path, capsys, own)
    assert (document["now"][0]["low"], document["now"][0]["high"]) == (0.5, 0.6)
    assert "taken from" not in document["why"]


@pytest.mark.parametrize(("text", "word"), [
    (BY_SHEET.replace("low-travel", "wing-span"), "low-travel"),
    (BY_SHEET.replace('requirement = "low-travel"', 'requirement = "low-travel"\nunit = "V"'), "mm"),
    (BY_SHEET.replace('requirement = "low-travel"', 'requirement = "low-travel"\ngauge = "thumb"'), "leaf"),
])  # fmt: skip
def test_a_requirement_that_does_not_fit_is_refused(tmp_path, capsys, text, word):
    code, said = with_sheet(tmp_path, capsys, text)
    assert code == 4
    assert word in said


def test_a_requirement_without_a_sheet_says_how_to_give_one(tmp_path, capsys):
    (tmp_path / "t.toml").write_text(BY_SHEET, encoding="utf-8")
    assert run(["trim", str(tmp_path / "t.toml")]) == 4
    assert "--sheet" in capsys.readouterr().err


def test_a_pair_at_the_very_end_of_a_limit_asks_for_a_surer_move(tmp_path, capsys):
    at_the_end = TOML + '[[trials]]\nat = { "low screw" = 0.25 }\nread = { "low travel" = [0.30, 0.32] }\n' + (
        '[[trials]]\nat = { "low screw" = 0.33 }\nread = { "low travel" = [0.26, 0.28] }\n')  # fmt: skip
    code, document = trim(tmp_path, capsys, at_the_end.replace("u = 0.01", "u = 0.02"))
    assert (code, document["state"]) == (0, "move")
    assert "surer" in document["why"]
    assert 0.8 < document["sure"] <= 0.88  # three trials: no other reading confirms them yet


FROM_BOOK = """
[[knobs]]
name = "low screw"
unit = "turn"
step_limit = 0.5
[[readings]]
name = "travel"
requirement = "punch-travel-low"
[[trials]]
at = { "low screw" = 0.0 }
read = { "travel" = 1.0 }
"""


@pytest.fixture
def in_the_book(tmp_path, monkeypatch, capsys):
    """A book with a machine and its sheet; works in a folder of its own."""
    monkeypatch.chdir(tmp_path)
    for words in (["machine", "add", "Petrel", "--book", "b.db"],
                  ["sheet", "check", "petrel", "--machine", "Petrel", "--book", "b.db"]):  # fmt: skip
        assert run(words) in (0, 1, 3)
    Path("t.toml").write_text(FROM_BOOK, encoding="utf-8")
    capsys.readouterr()
    return ["--machine", "Petrel", "--book", "b.db"]


def test_limits_come_from_the_sheet_in_the_book(in_the_book, capsys):
    with_file = run(["trim", "t.toml", "--sheet", "petrel", "--json"]), json.loads(capsys.readouterr().out)
    from_book = run(["trim", "t.toml", "--json", *in_the_book])
    said = capsys.readouterr()
    assert (from_book, json.loads(said.out)) == with_file
    assert "sheet from the book: petrel.toml" in said.err
    assert run(["trim", "t.toml", *in_the_book]) == from_book  # without --json it is said beside the advice
    assert "sheet from the book: petrel.toml" in capsys.readouterr().out


def test_without_trials_the_newest_in_the_book_are_taken_and_nothing_is_written(in_the_book, capsys):
    assert run(["trim", *in_the_book]) == 4
    assert "trials of screws in the book" in capsys.readouterr().err
    kept = run(["trim", "t.toml", "--json", *in_the_book]), json.loads(capsys.readouterr().out)
    again = run(["trim", "--json", *in_the_book])
    said = capsys.readouterr()
    assert (again, json.loads(said.out)) == kept
    assert "In the book of" not in said.err
    assert run(["trim"]) == 2
