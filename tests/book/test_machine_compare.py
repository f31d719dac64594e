"""`machine compare`, from practice machines through the book to text, JSON and picture."""

import contextlib
import io
import json
import xml.etree.ElementTree as ET
from pathlib import Path

import jsonschema
import pytest

from tapewright.book.entry import NewEntry
from tapewright.book.record import open_book
from tapewright.terminal.run import run

SCHEMA = json.loads((Path(__file__).parents[2] / "docs/reference/schemas/side-by-side.json").read_text("utf-8"))
TEXT = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 1234567890"


def said(*words):
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run([str(word) for word in words])
    return code, out.getvalue(), err.getvalue()


def line_of(folder, machine, *, ppm=100):
    assert said("line", "compose", TEXT, "--repeat", 2, "--machine", machine, "-o", folder / "a.csv")[0] == 0
    return json.loads(
        said("line", "read", folder / "a.csv", "--nominal", "45.45", "--clock-ppm", ppm, "--json")[1]
    )  # fmt: skip


def tape_of(folder, machine):
    assert said("tape", "practice", TEXT, "--machine", machine, "-o", folder / "a.png")[0] == 0
    return json.loads(said("tape", "read", folder / "a.png", "--expect", TEXT, "--json")[1])


def gauges_of(folder, gap, low, high):
    """The sheet of Heron with one number and one go/no-go pair, in thou."""
    lines = ["id,position,value,u,low,high", f"contact-gap,3,{gap},0.1,,", f"armature-gap,,,,{low},{high}"]
    (folder / "r.csv").write_text("\n".join(lines))
    return json.loads(said("sheet", "check", "heron", "--readings", folder / "r.csv", "--json")[1])


def evidence(key, sort, phase, result, **more):
    return NewEntry(key, "evidence", {"sort": sort, "phase": phase, "says": "-", "result": result, **more})


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """Petrel as found (contact 3 late, slow) and as left (as Heron is); Heron newest only."""
    folder = tmp_path_factory.mktemp("compare")
    petrel, heron = line_of(folder, "petrel"), line_of(folder, "heron")
    opened = open_book(str(folder / "workshop.book"))
    p, h = "a" * 32, "b" * 32
    opened.write([NewEntry(p, "identity", {"name": "Petrel"}), NewEntry(h, "identity", {"name": "Heron"})], {})
    opened.write([evidence(p, "line", "as found", petrel, instrument="Logic 1", temperature_c=12)], {})
    wrong, = opened.write([evidence(p, "line", "as left", petrel, instrument="Logic 1")], {})
    right = evidence(p, "line", "as left", heron, instrument="logic  1", temperature_c=21)
    opened.write([NewEntry(p, "evidence", right.body, "Ada", replaces=wrong.key, reason="the wrong scanner")], {})
    gauge = gauges_of(folder, 11, 3, 4)
    opened.write([evidence(h, "line", "as found", heron, instrument="Scope")], {})
    opened.write([evidence(h, "gauge", "between", gauge)], {})
    for phase, punch, readings in (("as found", "petrel", (9, 5, 6)), ("as left", "heron", (12, 3, 4))):
        opened.write([evidence(p, "tape", phase, tape_of(folder, punch), instrument="Flatbed")], {})
        opened.write([evidence(p, "gauge", phase, gauges_of(folder, *readings))], {})
    opened.close()
    return folder / "workshop.book"


def test_as_found_against_as_left(book):
    code, text, _ = said("machine", "compare", "petrel", "--book", book)
    assert code == 0
    assert text.splitlines()[:2] == ["A: Petrel, as found", "B: Petrel, as left"]
    first = text.split("Differs, the clearest first\n")[1].split("\n\n")[0]
    assert "closing of contact 3, late" in first
    assert "* one instrument took both: what the recorder's clock and the scanner's scale does to both" in text
    assert "A was taken at 12 °C, B at 21 °C" in text
    assert "1 older" not in text  # the line that was replaced is not evidence


def test_the_document_fits_its_schema_and_has_the_right_sign(book):
    _, text, _ = said("machine", "compare", "petrel", "--book", book, "--json")
    document = json.loads(text)
    jsonschema.validate(document, SCHEMA)
    rows = {row["what"]: row for row in document["rows"]}
    contact = rows["closing of contact 3, late"]
    # the practice machines were made with 1.52 ms and 0.02 ms
    assert contact["difference"]["value"] == pytest.approx(-1.50, abs=0.06)
    assert (contact["state"], contact["sure"]) == ("differs", True)
    unit = rows["unit"]["difference"]
    assert unit["value"] == pytest.approx(22 - 22 / 0.99, abs=0.02)
    sizes = [row["in_u"] for row in document["rows"] if row["state"] == "differs" and row["in_u"] is not None]
    assert sizes == sorted(sizes, reverse=True)


def test_tape_and_gauges_as_the_commands_write_them(book):
    rows = {r["what"]: r for r in json.loads(said("machine", "compare", "petrel", "--book", book, "--json")[1])["rows"]}
    assert rows["contact-gap, 3"]["difference"]["value"] == pytest.approx(3)
    assert rows["armature-gap"]["state"] == "differs"
    assert rows["armature-gap"]["a"]["interval"] == [5, 6]
    # the practice punch of Petrel leaves flaps in track 1 and has a bad tooth; 2.5266 mm is 2.538 - 0.16 / 14
    assert rows["track 1, partial holes"]["difference"]["value"] < -20
    pitch = rows["feed pitch"]
    # the guide is a thing that is set: it must stand in what is compared
    assert {"feed line to the three-hole edge", "tape, width"} <= set(rows)
    assert abs(pitch["difference"]["value"] - (2.54 - 2.5266)) < 2 * pitch["difference"]["u"]
    assert pitch["shared"] == "the scanner's scale"
    assert {name for name in rows if name.endswith("diameter")} == {
        *(f"track {k}, diameter" for k in range(1, 6)), "feed hole, diameter",
    }  # fmt: skip


def test_no_evidence_at_all_says_what_to_do(book):
    text = said("machine", "compare", "petrel", "--from", "between", "--to", "between", "--book", book)[1]
    assert "A: Petrel has no evidence (between). --phase says when one was taken." in " ".join(text.split())


def test_two_machines_and_what_only_one_has(book):
    code, text, _ = said("machine", "compare", "Heron", "Petrel", "--book", book)
    assert code == 0
    assert "Mind: Only B has tape evidence." in text
    assert "line: two instruments (Scope; logic 1), each with its own doubt." in text


def test_by_date(book):
    code, text, _ = said("machine", "compare", "petrel", "--from", "2001-01-01", "--to", "2999-12-31", "--book", book)
    assert code == 3
    assert "There is nothing that can be compared." in text


@pytest.mark.parametrize("when", ["yesterday", "2026-13-01", "as lost"])
def test_a_moment_nobody_knows_is_wrong_use(book, when):
    code, _, err = said("machine", "compare", "petrel", "--from", when, "--book", book)
    assert (code, "--from: expected as-found, between, as-left, or a date" in err) == (2, True)


def test_the_picture_names_what_differs(book, tmp_path):
    said("machine", "compare", "petrel", "--book", book, "--out-plot", tmp_path / "a.svg")
    texts = [node.text or "" for node in ET.parse(tmp_path / "a.svg").iter() if node.tag.endswith("text")]
    assert "closing of contact 3, late" in texts
    assert any(text.startswith("contacts, ms") for text in texts)
