"""`tapewright sheet` from the command line: documents against their schema, exit codes, form and typing in."""

import io
import json
from pathlib import Path

import jsonschema
import pytest

from tapewright.terminal.run import run

SCHEMAS = Path(__file__).parents[2] / "docs" / "reference" / "schemas"
SHEET = """
machine = "Gull"
source = { document = "made-up", standing = "owner's choice" }
[[requirement]]
id = "end-play"
station = "shaft"
what = "End-play"
stage = "end-play"
limit = "both"
unit = "mm"
test = { low = 0.02, high = 0.12 }
gauge = "dial"
upsets = ["gap"]
[[requirement]]
id = "gap"
station = "contacts"
what = "Gap"
stage = "clearance"
limit = "min"
unit = "thou"
test = { low = 8 }
depends_on = ["end-play"]
"""


def write(folder, name, text):
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def check(capsys, *arguments):
    code = run(["sheet", "check", *arguments, "--json"])
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, json.loads((SCHEMAS / "sheet.json").read_text("utf-8")))
    return code, document


@pytest.mark.parametrize("name", ["heron", "petrel", "template"])
def test_built_in_sheets_check_and_hold_to_the_schema(capsys, name):
    code, document = check(capsys, name)
    assert code == 3
    assert document["next"]["id"] == document["order"][0]
    assert set(document["order"]) == {r["id"] for r in document["requirements"]} == set(document["recheck"])


@pytest.mark.parametrize("name", ["heron", "petrel"])
def test_the_invented_machines_claim_no_source(capsys, name):
    _, document = check(capsys, name)
    assert {r["verdict"]["standing"] for r in document["requirements"]} == {"common practice, no source"}


@pytest.mark.parametrize(
    ("entries", "code", "next_id"),
    [
        ("", 3, "end-play"),
        ("end-play,0.06,,", 3, "gap"),
        ("end-play,0.06,,\ngap,10,0.5,", 0, None),
        ("end-play,0.06,,\ngap,5,0.5,", 1, "gap"),
        ("end-play,0.06,,\ngap,10,0.5,\nend-play,,,collar moved", 3, "end-play"),
        ("end-play,0.06,,\ngap,10,0.5,\nend-play,,,collar moved\nend-play,0.05,,", 3, "gap"),
    ],
)
def test_exit_code_and_next_step(tmp_path, capsys, entries, code, next_id):
    sheet = write(tmp_path, "s.toml", SHEET)
    readings = write(tmp_path, "r.csv", f"id,value,u,changed\n{entries}\n")
    got, document = check(capsys, sheet, "--readings", readings)
    assert got == code
    assert (document["next"] or {}).get("id") == next_id


def test_every_fault_is_told_with_its_place_and_exit_4(tmp_path, capsys):
    bad = SHEET.replace('limit = "min"', 'limit = "least"').replace('upsets = ["gap"]', 'upsets = ["gape"]')
    assert run(["sheet", "check", write(tmp_path, "s.toml", bad)]) == 4
    said = capsys.readouterr().err
    assert "has 2 faults" in said
    assert "line 13, key 'requirement[0].upsets'" in said
    assert "line 19, key 'requirement[1].limit'" in said
    assert "Traceback" not in said


@pytest.mark.parametrize("name", ["no-such-file.toml", "."])
def test_a_sheet_that_is_not_there(capsys, name):
    assert run(["sheet", "check", name]) == 4
    assert "Traceback" not in capsys.readouterr().err


def test_forms_are_the_same_every_time_and_hold_every_box(tmp_path, capsys):
    pdf, html = tmp_path / "f.pdf", tmp_path / "f.html"
    for path in (pdf, html):
        assert run(["sheet", "form", "petrel", "-o", str(path)]) == 0
    first = pdf.read_bytes()
    assert first.startswith(b"%PDF")
    assert run(["sheet", "form", "petrel", "-o", str(pdf)]) == 0
    assert pdf.read_bytes() == first
    boxes = int(capsys.readouterr().out.split(": ")[1].split(" ")[0])
    page = html.read_text("utf-8")
    assert f"<small>{boxes} " in page
    assert f"<small>{boxes + 1} " not in page
    assert page.index("Pull the mains plug") < page.index("shaft-freedom")


def test_a_form_survives_odd_words(tmp_path):
    odd = SHEET.replace('"Gull"', '"#Gull [ü] \\\\ $ \\" <b>&"').replace('"End-play"', f'"{"Schwinghebel" * 12} *_@#"')
    for ending in ("pdf", "html"):
        out = tmp_path / f"f.{ending}"
        assert run(["sheet", "form", write(tmp_path, "s.toml", odd), "-o", str(out)]) == 0
    assert "<b>&" not in out.read_text("utf-8")


def test_a_form_needs_a_known_ending(tmp_path):
    assert run(["sheet", "form", "petrel", "-o", str(tmp_path / "f.doc")]) == 2


def test_typing_in_from_a_pipe(tmp_path, capsys, monkeypatch):
    sheet, journal = write(tmp_path, "s.toml", SHEET), tmp_path / "j.toml"
    monkeypatch.setattr("sys.stdin", io.StringIO("0,50\nu\n0,06\n8 10\n"))
    assert run(["sheet", "enter", sheet, "-o", str(journal), "--warm"]) == 0
    said = capsys.readouterr().out
    assert "outside" in said
    assert "undone" in said
    code, document = check(capsys, sheet, "--readings", str(journal))
    assert code == 0
    assert document["requirements"][1]["readings"][0]["interval"] == [8, 10]


def test_a_reading_out_of_all_proportion_is_asked_about(tmp_path, capsys, monkeypatch):
    """Half a millimetre typed in thou, or a line in the wrong box: taken, but said."""
    sheet, journal = write(tmp_path, "s.toml", SHEET), tmp_path / "j.toml"
    monkeypatch.setattr("sys.stdin", io.StringIO("60\nu\n0.06\nq\n"))
    assert run(["sheet", "enter", sheet, "-o", str(journal)]) == 0
    assert capsys.readouterr().out.count("the right box, the right unit?") == 1
    assert journal.read_text("utf-8").count("[[entry]]") == 1


def test_a_stack_of_leaves_in_a_box_that_is_no_length_is_asked_again_and_nothing_is_lost(tmp_path, capsys, monkeypatch):
    """A line in the wrong box must not take the readings before it along."""
    spring = SHEET + "\n[[requirement]]\nid = 'pull'\nstation = 'springs'\nwhat = 'Spring'\nstage = 'spring load'\n"
    spring += "limit = 'max'\nunit = 'oz'\ntest = { high = 6 }\ngauge = 'spring balance'\n"
    sheet, journal = write(tmp_path, "s.toml", spring), tmp_path / "j.toml"
    boxes = spring.count("[[requirement]]")
    monkeypatch.setattr("sys.stdin", io.StringIO("0.06\n" + "\n" * (boxes - 2) + "0.01+0.02\n5\n"))
    assert run(["sheet", "enter", sheet, "-o", str(journal)]) == 0
    assert "Not understood" in capsys.readouterr().out
    assert journal.read_text("utf-8").count("[[entry]]") == 2
    journal.write_text("[[entry]]\nid = 'pull'\nleaves = [1, 2]\n", "utf-8")
    assert run(["sheet", "check", sheet, "--readings", str(journal)]) == 4
    assert "line 3, key 'entry[0].leaves'" in capsys.readouterr().err


def test_typing_in_adds_to_a_journal_and_spares_a_broken_one(tmp_path, monkeypatch):
    sheet, journal = write(tmp_path, "s.toml", SHEET), tmp_path / "j.toml"
    for line in ("0.06\nq\n", "\n9 10\n"):
        monkeypatch.setattr("sys.stdin", io.StringIO(line))
        assert run(["sheet", "enter", sheet, "-o", str(journal)]) == 0
    assert journal.read_text("utf-8").count("[[entry]]") == 2
    journal.write_text("[[entry]\n")
    monkeypatch.setattr("sys.stdin", io.StringIO("0.06\n"))
    assert run(["sheet", "enter", sheet, "-o", str(journal)]) == 4
    assert journal.read_text() == "[[entry]\n"


def test_a_new_sheet_begins_from_the_template_and_spares_what_is_there(tmp_path, capsys):
    mine = tmp_path / "mine.toml"
    assert run(["sheet", "new", str(mine)]) == 0
    before = mine.read_bytes()
    capsys.readouterr()
    assert check(capsys, str(mine))[0] == 3
    assert run(["sheet", "new", str(mine), "--from", "heron"]) == 2
    assert mine.read_bytes() == before


def test_the_example_of_trials_can_be_trimmed(tmp_path):
    path = tmp_path / "t.toml"
    assert run(["sheet", "new", str(path), "--from", "trials"]) == 0
    assert run(["trim", str(path)]) in (1, 3)
