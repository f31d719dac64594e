"""Sound with its levels lost: unit within 0.1 per cent, a contact within 0.15 ms, no wrong code."""

import json

import pytest

from tapewright.terminal.run import run

TEXT = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 1234567890 RYRYSGSG"

CASES = {
    "45 Bd, 20 Hz corner": (45.45, ["--ac-coupled", 20, "--late", "3=0.8"], 3, 0.8),
    "50 Bd, slow corner, noise": (50, ["--ac-coupled", 2, "--noise", 1, "--late", "1=-0.6"], 1, -0.6),
    "75 Bd, biased": (75, ["--ac-coupled", 10, "--bias", 20, "--late", "4=0.5"], 4, 0.5),
    "100 Bd, bounce": (100, ["--ac-coupled", 15, "--bounce-ms", 1, "--late", "2=0.7"], 2, 0.7),
    "50 Bd, hand keyed": (50, ["--ac-coupled", 20, "--gap-ms", 250, "--late", "5=1.0"], 5, 1.0),
}


@pytest.mark.parametrize("name", CASES)
def test_a_late_contact_in_sound(name, tmp_path, capsys):
    baud, words, contact, late_ms = CASES[name]
    file = str(tmp_path / "sound.wav")
    assert run(["line", "compose", TEXT, "--repeat", "2", "--baud", str(baud), *map(str, words), "-o", file]) == 0
    capsys.readouterr()
    run(["line", "read", file, "--nominal", str(baud), "--json"])
    document = json.loads(capsys.readouterr().out)
    assert document["text"].startswith(TEXT)
    unit = 22.0 if baud == 45.45 else 1000 / baud
    assert document["speed"]["unit_ms"]["value"] == pytest.approx(unit, rel=1e-3)
    assert document["contacts"][contact - 1]["closing_late_ms"]["value"] == pytest.approx(late_ms, abs=0.15)
    assert f"contact {contact}" in [f["part"] for f in document["findings"]]
    assert "AC coupling" in [s["suspicion"] for s in document["instrument"]]
