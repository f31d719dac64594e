"""`tapewright tape read` as a person and a program meet it."""

import json
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from PIL import Image

from tape_pictures.drawn_tape import Look, draw
from tapewright.alphabets import ITA2, encode
from tapewright.terminal.run import run

TEXT = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG AND SAILS"
SCHEMAS = Path(__file__).parents[2] / "docs/reference/schemas"
TAPE, ERRORS = (json.loads((SCHEMAS / f"{name}.json").read_text("utf-8")) for name in ("tape", "errors"))


@pytest.fixture(scope="module")
def scan(tmp_path_factory):
    path = tmp_path_factory.mktemp("scan") / "fox.png"
    image = draw(encode(TEXT, ITA2), Look(dpi=400, angle=5)).image
    Image.fromarray(image).save(path, dpi=(400, 400))
    return path


def read(capsys, *words):
    capsys.readouterr()
    code = run(["tape", "read", *map(str, words), "--json"])
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, TAPE)
    return code, document


def test_a_clean_scan_reads_within_limits(scan, capsys):
    assert run(["tape", "read", str(scan), "--dpi", "400"]) == 0
    assert TEXT in capsys.readouterr().out


FINE = ("worst cumulative pitch over 50 rows", "tape width")


def test_what_the_scanners_own_figure_cannot_show_is_named_and_not_judged(scan, tmp_path, capsys):
    """No tape could be shown to keep them: the answer would be the same for every tape, so it is none."""
    code, document = read(capsys, scan)
    checks = {v["check"] for v in document["verdicts"]}
    assert (code, checks & set(FINE)) == (0, set())
    (note,) = [said for said in document["scale"]["notes"] if said.startswith("Not judged")]
    assert all(check in note for check in FINE)
    code, document = read(capsys, scan, "--dpi", "400")
    assert set(FINE) <= {v["check"] for v in document["verdicts"] if v["state"] == "within"}
    assert code == 0
    own = tmp_path / "own.toml"
    own.write_text('[[limits]]\ncheck = "tape width"\nlow = 17.38\nhigh = 17.54\nsource = "mine"\n', encoding="utf-8")
    code, document = read(capsys, scan, "--limits", str(own))
    assert (code, [v["check"] for v in document["verdicts"] if v["state"] == "not shown"]) == (3, ["tape width"])


def test_json_has_the_contract_keys(scan, capsys):
    code, document = read(capsys, scan, "--expect", TEXT)
    (strip,) = document["strips"]
    assert (code, strip["text"], strip["errors"]["wrong"]) == (0, TEXT, 0)
    jsonschema.validate(strip["errors"], ERRORS)
    assert strip["rows"][0]["holes"][4]["state"] == "clean"
    assert document["scale"]["from"] == "dpi tag"


def test_a_lost_code_is_told_with_its_place(scan, capsys):
    _, document = read(capsys, scan, "--expect", TEXT.replace("JUMPS", "JUMPED"))
    assert document["strips"][0]["errors"]["wrong"] >= 1


def test_the_resolution_given_wins_over_the_tag(scan, capsys):
    _, document = read(capsys, scan, "--dpi", "404")
    assert document["scale"]["from"] == "given"
    pitch = document["strips"][0]["feed"]["pitch_mm"]
    assert pitch["value"] == pytest.approx(2.54 * 400 / 404, rel=1e-3)


def test_the_overlay_is_a_picture_of_the_same_size_with_marks(scan, tmp_path, capsys):
    marked = tmp_path / "marked.png"
    run(["tape", "read", str(scan), "--overlay", str(marked)])
    with Image.open(marked) as image, Image.open(scan) as plain:
        assert image.size == plain.size
        pixels = np.asarray(image.convert("RGB")).astype(int)
        assert (np.ptp(pixels, axis=2) > 40).mean() > 0.005


def test_own_limits_replace_the_built_in_ones(scan, tmp_path, capsys):
    own = tmp_path / "own.toml"
    own.write_text('[[limits]]\ncheck = "feed pitch"\nlow = 2.60\nhigh = 2.70\nsource = "made up"\n', encoding="utf-8")
    code, document = read(capsys, scan, "--limits", own)
    (pitch,) = (v for v in document["verdicts"] if v["check"] == "feed pitch")
    assert (code, pitch["state"], pitch["standing"]) == (1, "outside", "owner's choice")


def test_petrels_pin_and_tooth_are_named(tmp_path, capsys):
    picture = str(tmp_path / "petrel.png")
    run(["tape", "practice", TEXT + " 1234567890", "--repeat", "3", "--machine", "petrel", "-o", picture])
    code, document = read(capsys, picture)
    (strip,) = document["strips"]
    assert code == 1
    assert [t["track"] for t in strip["tracks"] if t["partial"]] == [1]
    assert (strip["feed"]["period_rows"], strip["feed"]["period_kind"]) == (14, "one step")
    assert strip["feed"]["period_mm"]["value"] == pytest.approx(-0.16, abs=0.02)
    assert {f["station"] for f in strip["findings"]} == {"feed", "punch pin and die"}
    assert "rows of four and five holes" in " ".join(f["text"] for f in strip["findings"])


def test_a_picture_that_cuts_the_tape_along_its_length_says_so(tmp_path, capsys):
    drawn = draw(encode(TEXT, ITA2), Look(dpi=300))
    below = int(drawn.hole_xy[0, 3, 1])  # through track 4: the feed row stays
    Image.fromarray(drawn.image[:below]).save(tmp_path / "cut.png", dpi=(300, 300))
    assert run(["tape", "read", str(tmp_path / "cut.png")]) == 4
    assert "partly outside the picture" in capsys.readouterr().err


def test_no_tooth_is_blamed_for_what_its_own_doubt_covers(tmp_path, capsys):
    """A clean punch, the picture crooked, slanted and dirty: a step of -0.016 ± 0.019 mm was once called a tooth."""
    picture = str(tmp_path / "crooked.png")
    run(["tape", "practice", "SKERRY POINT 75", "--repeat", "3", "--dpi", "240", "--angle", "11", "--slant", "0.06",
         "--specks", "3", "--face-down", "-o", picture])  # fmt: skip
    _, document = read(capsys, picture)
    assert document["strips"][0]["feed"]["period_rows"] is None
    assert "tooth" not in str(document["strips"][0]["findings"])
