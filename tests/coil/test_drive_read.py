"""`tapewright drive read`: CSV, WAV and NPY alike; document, report, picture, comparison, refusals."""

import json
import wave
import xml.etree.ElementTree as ET
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from tapewright.practice.coil import CurrentProbe, Feed, MagnetCoil, Pulse, record, run_coil
from tapewright.terminal.run import run

SCHEMA = Path(__file__).parents[2] / "docs" / "reference" / "schemas" / "coil.json"
FEED = Feed(24.0, 134.0, 47.0)
LOOP = ["--shunt", "10", "--supply", "24", "--series-ohm", "124"]


def volts_of(coil, closings=2):
    pulses = tuple(Pulse(0.02 + 0.1 * n, 0.09 + 0.1 * n) for n in range(closings))
    truth = run_coil(coil, FEED, pulses, 0.02 + 0.1 * closings)
    return record(truth, CurrentProbe(noise_a=0.0012, volts_per_a=10), np.random.default_rng(9)), truth, pulses


@pytest.fixture(scope="module")
def free():
    return volts_of(MagnetCoil(pull_in_a=0.05))


@pytest.fixture(scope="module")
def stuck():
    return volts_of(MagnetCoil(pull_in_a=0.05, stuck=True))


def csv(folder, name, volts):
    file = folder / name
    table = np.column_stack([np.arange(volts.size) / 10_000, volts])
    np.savetxt(file, table, delimiter=",", header="time (s),shunt (V)", comments="", fmt="%.7g")
    return str(file)


def told(capsys, *words, code=0):
    assert run(["drive", "read", *words, "--json"]) == code
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, json.loads(SCHEMA.read_text("utf-8")))
    return document


def test_enough_closings_to_tell_a_slow_one_make_a_document_too(capsys, tmp_path):
    volts, _, _ = volts_of(MagnetCoil(pull_in_a=0.05), closings=4)
    document = told(capsys, csv(tmp_path, "four.csv", volts), *LOOP)
    assert [closure["slow"] for closure in document["closures"]] == [False] * 4


def test_a_free_armature_is_read(capsys, tmp_path, free):
    volts, truth, pulses = free
    document = told(capsys, csv(tmp_path, "free.csv", volts), *LOOP)
    assert document["moved"] is True
    assert document["resistance_ohm"]["value"] == pytest.approx(66, rel=0.02)
    assert document["inductance_h"]["value"] == pytest.approx(1.4, rel=0.03)
    true = np.mean([(land - pulse.on_s) * 1e3 for land, pulse in zip(truth.first_landings_s, pulses, strict=True)])
    assert document["landing_ms"]["value"] == pytest.approx(true, abs=0.1)
    assert len(document["closures"]) == 2


def test_a_stuck_armature_is_read(capsys, tmp_path, stuck):
    # an armature that stands still is outside what a magnet is for (decision 175)
    document = told(capsys, csv(tmp_path, "stuck.csv", stuck[0]), *LOOP, code=1)
    assert document["moved"] is False
    assert document["landing_ms"] is None


def test_wav_npy_and_csv_say_the_same(capsys, tmp_path, free):
    volts = free[0]
    np.save(tmp_path / "free.npy", volts)
    with wave.open(str(tmp_path / "free.wav"), "wb") as out:
        out.setparams((1, 2, 10_000, 0, "NONE", ""))
        out.writeframes(np.round(volts / 2 * 32767).astype("<i2").tobytes())
    by_csv = told(capsys, csv(tmp_path, "free.csv", volts), *LOOP)
    by_npy = told(capsys, str(tmp_path / "free.npy"), *LOOP, "--rate", "10000")
    by_wav = told(capsys, str(tmp_path / "free.wav"), *LOOP, "--scale", str(2 * 32768 / 32767))
    for other in (by_npy, by_wav):
        assert other["moved"] is True
        assert other["landing_ms"]["value"] == pytest.approx(by_csv["landing_ms"]["value"], abs=0.02)
        assert other["resistance_ohm"]["value"] == pytest.approx(by_csv["resistance_ohm"]["value"], rel=0.01)


def test_two_files_are_compared(capsys, tmp_path, free):
    greasy = volts_of(MagnetCoil(pull_in_a=0.05, damping_n_s_per_m=10.0))[0]
    files = [csv(tmp_path, "after.csv", free[0]), csv(tmp_path, "before.csv", greasy)]
    document = told(capsys, files[1], *LOOP, "--against", files[0])
    changes = {change["name"]: change for change in document["comparison"]["changes"]}
    assert changes["landing"]["shown"] is True
    assert changes["landing"]["change"]["value"] < 0
    assert changes["resistance"]["shown"] is False


def test_report_and_picture(capsys, tmp_path, free):
    picture = tmp_path / "free.svg"
    assert run(["drive", "read", csv(tmp_path, "free.csv", free[0]), *LOOP, "--out-plot", str(picture)]) == 0
    out = capsys.readouterr().out
    assert out.index("kicks") < out.index("The armature moved.") < out.index("Lands after")
    ET.fromstring(picture.read_text("utf-8"))


def test_an_ac_coupled_recording_is_not_shown(capsys, tmp_path):
    pulses = (Pulse(0.02, 0.09), Pulse(0.12, 0.19))
    truth = run_coil(MagnetCoil(pull_in_a=0.05), FEED, pulses, 0.22)
    volts = record(truth, CurrentProbe(corner_hz=20.0, volts_per_a=10), np.random.default_rng(1))
    document = told(capsys, csv(tmp_path, "ac.csv", volts), *LOOP, code=3)
    assert document["moved"] is None
    assert document["resistance_ohm"] is None
    assert "AC coupling" in document["notes"][0]


@pytest.mark.parametrize("option", ["--shunt", "--supply", "--scale", "--rate"])
@pytest.mark.parametrize("value", ["0", "-3", "nan"])
def test_options_that_cannot_be_are_wrong_use(capsys, tmp_path, free, option, value):
    assert run(["drive", "read", csv(tmp_path, "free.csv", free[0]), option, value]) == 2
    assert option in capsys.readouterr().err


@pytest.mark.parametrize("content", [b"", b"hello", b"t,v\n0,0\n1,1\n", b"\x93NUMPY\x01\x00"])
def test_a_file_without_a_current_is_refused(capsys, tmp_path, content):
    file = tmp_path / "x.csv"
    file.write_bytes(content)
    code = run(["drive", "read", str(file)])
    assert code in (3, 4)
    said = capsys.readouterr()
    assert "Traceback" not in said.err


def test_a_sample_that_is_no_number_is_named(capsys, tmp_path):
    np.save(tmp_path / "x.npy", np.array([0.0, 1.0, np.nan, 1.0] * 50))
    assert run(["drive", "read", str(tmp_path / "x.npy"), "--rate", "10000"]) == 4
    assert "sample 3" in capsys.readouterr().err
