"""Sheets from a table, one requirement shown alone, units as typed, odd readings, the form's boxes."""

import itertools
import json

import pytest

from tapewright.errors import InputError, InputFaultsError
from tapewright.gauges.checking import check
from tapewright.gauges.files.sheet_file import read_sheet
from tapewright.gauges.form import boxes_of, form_html, groups_of
from tapewright.gauges.journal import Entry
from tapewright.gauges.measure import sheet_named
from tapewright.gauges.typing_in import Question, understood
from tapewright.terminal.run import run

TOML = """machine = "Gull"
source = { document = "the manual", place = "page 4", standing = "owner's choice" }
[[requirement]]
id = "gap"
station = "clutch"
what = "Teeth clear"
stage = "clearance"
limit = "both"
unit = "thou"
test = { low = 6, high = 14 }
readjust = { low = 8, high = 12.5 }
positions = ["left", "right"]
cautions = ["Plug out", "Springs fly"]
upsets = ["play"]
[[requirement]]
id = "play"
station = "clutch"
what = "End-play"
stage = "clearance"
limit = "max"
unit = "mm"
test = { high = 0.12 }
powered = false
depends_on = ["gap"]
"""
ROWS = [
    ["machine", "Gull"],
    ["source", "the manual", "page 4", "owner's choice"],
    ["Id", "station", "what", "stage", "unit", "low", "high", "readjust low", "readjust-high", "positions", "cautions",
     "upsets", "depends on", "powered"],
    ["# a remark"],
    ["gap", "clutch", "Teeth clear", "clearance", "thou", "6", "14", "8", "12.5", "left | right",
     "Plug out | Springs fly", "play", "", ""],
    ["play", "clutch", "End-play", "clearance", "mm", "", "0.12", "", "", "", "", "", "gap", "no"],
]  # fmt: skip


@pytest.mark.parametrize(("delimiter", "comma"), [(",", "."), (";", ","), ("\t", ",")])
def test_a_table_says_the_same_as_toml(delimiter, comma):
    as_numbers = [[c.replace(".", comma) if c.replace(".", "").isdigit() else c for c in row] for row in ROWS]
    wide = [[*row, *[""] * (14 - len(row))] for row in as_numbers]
    table = "\n".join(delimiter.join(row) for row in wide)
    assert read_sheet("g.csv", table.encode()) == read_sheet("g.toml", TOML.encode())


def test_faults_of_a_table_name_row_and_column():
    head = ",".join(ROWS[2])
    with pytest.raises(InputError, match=r"row 1.*wingspan"):
        read_sheet("g.csv", f"id,wingspan\n{head}".encode())
    with pytest.raises(InputFaultsError, match=r"line 3, key 'requirement\[0\].unit'"):
        read_sheet("g.csv", b"machine,G\nid,station,what,stage,unit,low\na,s,w,clearance,furlong,1")
    with pytest.raises(InputError, match="head row"):
        read_sheet("g.csv", b"machine,G")


def test_the_table_to_begin_from_is_a_whole_sheet(tmp_path, capsys):
    out = tmp_path / "mine.csv"
    assert run(["sheet", "new", str(out), "--from", "table"]) == 0
    assert run(["sheet", "check", str(out), "--json"]) == 3
    said = capsys.readouterr().out
    document = json.loads(said[said.index("{") :])
    assert [r["id"] for r in document["requirements"]] == ["end-play", "clearance"]
    assert run(["sheet", "new", str(tmp_path / "mine.toml"), "--from", "table"]) == 2


def test_only_what_comes_next_and_on_one_line(capsys):
    assert run(["sheet", "check", "petrel", "--json"]) == 3
    whole = json.loads(capsys.readouterr().out)
    assert run(["sheet", "check", "petrel", "--only", "NEXT", "--json", "--compact"]) == 3
    text = capsys.readouterr().out
    assert text.count("\n") == 1
    alone = json.loads(text)
    assert alone["next"] == whole["next"]
    assert alone["requirements"] == [r for r in whole["requirements"] if r["id"] == whole["next"]["id"]]
    assert alone["recheck"] == {whole["next"]["id"]: whole["recheck"][whole["next"]["id"]]}
    assert run(["sheet", "check", "petrel", "--only", "clutch-gap"]) == 3
    assert "shaft-end-play  " not in capsys.readouterr().out.split("Next:")[0]
    assert run(["sheet", "check", "petrel", "--only", "clutch-gup"]) == 2
    assert "Perhaps clutch-gap is meant" in capsys.readouterr().err


def test_readings_are_typed_in_the_gauges_own_unit():
    length, load = Question("r", "", takes_eye=False, takes_number=True), Question(
        "r", "", takes_eye=False, takes_number=True, takes_leaves=False)  # fmt: skip
    assert understood("10 thou", length) == Entry("r", value=10.0, unit="thou")
    assert understood("0,010in", length) == Entry("r", value=0.010, unit="in")
    assert understood("8 10 thou", length) == Entry("r", low=8.0, high=10.0, unit="thou")
    assert understood("4+6 thou", length) == Entry("r", leaves=(4.0, 6.0), unit="thou")
    assert understood("10 0.5 u thou", length) == Entry("r", value=10.0, u=0.5, unit="thou")
    assert understood("10 thou", load) is None
    # 1 thou is 0.0254 mm by definition of the inch
    sheet = sheet_named("template")
    found = next(c for c in check(sheet, (Entry("end-play", value=3.0, unit="thou"),)).checked if c.found)
    assert found.verdict.value == pytest.approx(0.0762)


def test_a_reading_out_of_all_proportion_is_asked_about():
    sheet = sheet_named("template")
    odd = check(sheet, (Entry("end-play", value=4.0, u=0.1),))
    assert odd.next.id == "end-play"
    assert "33 times the limit: the right box, the right unit?" in odd.next.do
    assert check(sheet, (Entry("end-play", value=0.4, u=0.01),)).checked[0].ask == ""


def test_the_form_keeps_number_and_pair_apart_before_and_after_a_turn():
    sheet = read_sheet("g.toml", TOML.encode())
    page = form_html(sheet)
    columns = ("as found", "goes", "does not go", "turn made", "as left", "goes", "does not go")
    assert page.count("".join(f"<th>{name}</th>" for name in columns)) == 2
    assert page.count("<i>") == 5 + 7 * len(boxes_of(sheet))


def test_cautions_stand_once_for_each_group():
    petrel = sheet_named("petrel")
    groups = [group for station in groups_of(petrel).values() for group in station]
    assert form_html(petrel).count("class='caution'") == sum(len(group.cautions) for group in groups)
    assert len(groups) < len(petrel.requirements)
    for before, after in itertools.pairwise(groups):
        same_station = before.rows[0].requirement.station == after.rows[0].requirement.station
        assert not same_station or before.cautions != after.cautions
    assert [b for g in groups for row in g.rows for b in row.boxes] == boxes_of(petrel)
