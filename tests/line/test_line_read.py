"""`line read` as a person and as a program use it."""

import json
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import jsonschema
import pytest

from tapewright.terminal.run import run

SCHEMAS = Path(__file__).parents[2] / "docs/reference/schemas"
LINE, ERRORS = (json.loads((SCHEMAS / f"{name}.json").read_text("utf-8")) for name in ("line", "errors"))
TEXT = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 1234567890 RYRY"


def compose(path, *words, text=TEXT):
    assert run(["line", "compose", text, "-o", str(path), *map(str, words)]) == 0
    return str(path)


def read(capsys, *words):
    capsys.readouterr()
    code = run(["line", "read", *map(str, words), "--json"])
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, LINE)
    if document["errors"] is not None:
        jsonschema.validate(document["errors"], ERRORS)
    return code, document


@pytest.mark.parametrize("suffix", ["csv", "tsv", "wav"])
def test_a_clean_stream_is_within_everything(tmp_path, capsys, suffix):
    code, document = read(capsys, compose(tmp_path / f"a.{suffix}"), "--expect", TEXT)
    assert (code, document["text"], document["errors"]["wrong"]) == (0, TEXT, 0)
    assert {v["state"] for v in document["verdicts"]} == {"within"}
    assert document["speed"]["unit_ms"]["value"] == pytest.approx(22.0, rel=1e-4)


def test_petrel_is_slow_and_contact_3_is_late(tmp_path, capsys):
    file = compose(tmp_path / "petrel.csv", "--machine", "petrel", "--repeat", 2)
    code, document = read(capsys, file, "--nominal", "45.45")
    assert code == 1
    assert [f["part"] for f in document["findings"]][:2] == ["motor speed", "contact 3"]
    assert document["contacts"][2]["closing_late_ms"]["value"] == pytest.approx(1.52, abs=0.06)


def test_the_report_names_the_contact_with_its_figure(tmp_path, capsys):
    file = compose(tmp_path / "a.csv", "--late", "3=1.5")
    capsys.readouterr()
    run(["line", "read", file])
    report = " ".join(capsys.readouterr().out.split())
    assert "contact 3: closes 1.4999" in report
    assert "ms late (6.8 % of a unit), in 21 of 21 characters" in report


def test_the_plot_is_a_picture_with_the_contacts_in_it(tmp_path, capsys):
    file = compose(tmp_path / "a.csv", "--late", "3=1.5")
    run(["line", "read", file, "--out-plot", str(tmp_path / "a.svg")])
    texts = [node.text or "" for node in ET.parse(tmp_path / "a.svg").iter() if node.tag.endswith("text")]
    assert {"1", "2", "3", "4", "5", "stop", "mark", "space"} <= set(texts)
    assert any("+1.5" in text for text in texts)


def test_own_limits_replace_and_add(tmp_path, capsys):
    limits = tmp_path / "limits.toml"
    limits.write_text(
        '[[limits]]\ncheck = "contact lateness"\nlow = -0.5\nhigh = 0.5\nsource = "notes"\nstanding = "manual"\n'
        '[[limits]]\ncheck = "speed error"\nlow = -5\nhigh = 5\n',
        encoding="utf-8",
    )
    code, document = read(capsys, compose(tmp_path / "a.csv", "--late", "3=1.5"), "--limits", limits)
    states = {v["check"]: (v["state"], v["standing"]) for v in document["verdicts"]}
    assert code == 1
    assert states["contact lateness"] == ("outside", "the machine's manual, as entered by the owner")
    assert states["speed error"] == ("within", "owner's choice")
    assert "total distortion" in states


@pytest.mark.parametrize(
    ("toml", "words"),
    [
        ("x", "expected TOML"),
        ("a = 1", "key 'limits'"),
        ('[[limits]]\ncheck = "gap"', "limits[0].check"),
        ('[[limits]]\ncheck = "ripple"\nhigh = "1"', "limits[0].high"),
        ('[[limits]]\ncheck = "ripple"\nunit = "ms"\nhigh = 1', "limits[0].unit"),
        ('[[limits]]\ncheck = "ripple"', "neither a low nor a high end"),
        ('[[limits]]\ncheck = "ripple"\nhigh = nan', "not a finite number"),
        ('[[limits]]\ncheck = "ripple"\nhi = 1', "limits[0].hi"),
    ],
)
def test_a_limits_file_that_cannot_be_read_says_where(tmp_path, capsys, toml, words):
    limits = tmp_path / "limits.toml"
    limits.write_text(toml, encoding="utf-8")
    file = compose(tmp_path / "a.csv", text="RY")
    assert run(["line", "read", file, "--limits", str(limits)]) == 4
    assert words in capsys.readouterr().err


@pytest.mark.parametrize("words", [["--nominal", "fast"], ["--threshold", "x"], ["--expect", "~"], ["--nominal", "1"]])
def test_wrong_use_is_exit_2(tmp_path, words):
    assert run(["line", "read", compose(tmp_path / "a.csv", text="RY"), *words]) == 2


def test_a_missing_file_is_exit_4(tmp_path, capsys):
    assert run(["line", "read", str(tmp_path / "none.csv")]) == 4
    said = capsys.readouterr().err
    assert str(tmp_path / "none.csv") in said
    assert "no file of that name" in said
    assert "Check the name" in said


MISSING = (["drive", "plan", "none.toml"], ["drive", "read", "none.csv"], ["book", "restore", "none.book"],
           ["compare", "none.json", "none.json"], ["trim", "none.toml"], ["line", "read", "a.csv", "--expect", "@none"])


@pytest.mark.parametrize("words", MISSING)
def test_any_missing_file_is_named_with_what_to_do(tmp_path, capsys, words):
    compose(tmp_path / "a.csv", text="RY")
    given = [word.replace("none", str(tmp_path / "none")).replace("a.csv", str(tmp_path / "a.csv")) for word in words]
    assert run(given) == 4
    said = capsys.readouterr().err
    assert str(tmp_path / "none") in said
    assert "Check the name" in said


def test_too_short_to_prove_the_speed_is_exit_3(tmp_path, capsys):
    code, document = read(capsys, compose(tmp_path / "a.csv", text="TTTT"))
    assert code == 3
    assert not document["speed"]["proven"]
    assert {v["state"] for v in document["verdicts"]} == {"not shown"}


def test_a_dropped_element_is_found_against_the_text(tmp_path, capsys):
    """Contact 3 so late that its mark is gone: sent R Y, received without element 3."""
    file = compose(tmp_path / "a.csv", "--late", "3=14", text="RYRYRYRYRY")
    _, document = read(capsys, file, "--nominal", "45.45", "--expect", "RYRYRYRYRY")
    assert document["errors"]["kinds"]["drop mark"] == 5
    assert document["errors"]["by_element"][2]["drop_mark"] == 5


def test_demo_runs_the_line_chapter(capsys, tmp_path):
    from tapewright.terminal.demo.line_signal import chapter

    chapter(tmp_path)
    printed = capsys.readouterr().out
    assert "contact 3: closes 1.5" in printed
    assert "came as expected" in printed


def test_reading_loads_no_library_that_only_other_rooms_need(tmp_path):
    file = compose(tmp_path / "a.csv", text="RYRY")
    words = f"run(['line', 'read', {file!r}]); print(sorted({{'scipy', 'urllib.request', 'PIL'}} & set(sys.modules)))"
    code = f"import sys; from tapewright.terminal.run import run; {words}"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert out.splitlines()[-1] == "[]"
