"""`tapewright tape read` as a person and a program meet it."""

import json

import pytest
from PIL import Image

from tape_pictures.drawn_tape import Look, draw
from tapewright.cli.run import run
from tapewright.core.alphabets import ITA2, encode

TEXT = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG"


@pytest.fixture(scope="module")
def scan(tmp_path_factory):
    path = tmp_path_factory.mktemp("scan") / "fox.png"
    image = draw(encode(TEXT, ITA2), Look(dpi=400, angle=5)).image
    Image.fromarray(image).save(path, dpi=(400, 400))
    return path


def test_a_clean_scan_reads_within_limits(scan, capsys):
    assert run(["tape", "read", str(scan)]) == 0
    assert TEXT in capsys.readouterr().out


def test_json_has_the_contract_keys(scan, capsys):
    run(["tape", "read", str(scan), "--json"])
    document = json.loads(capsys.readouterr().out)
    assert document["format"] == "tapewright/tape/1"
    (strip,) = document["strips"]
    assert strip["text"] == TEXT
    assert strip["rows"][0]["holes"][4]["state"] == "clean"
    assert document["scale"]["from"] == "dpi tag"
