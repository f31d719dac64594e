"""`line compose`: every format read back by other people's readers and by a naive decoder."""

import contextlib
import csv
import io
import json
from itertools import pairwise
from pathlib import Path

import jsonschema
import numpy as np
import pytest
import soundfile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from vcd.reader import TokenKind, tokenize

from practice.naive import instants_after_start, read_codes
from tapewright.alphabets import ITA2, decode, encode
from tapewright.message.test_texts import PATTERNS, all_pairs, pattern
from tapewright.terminal.run import run

SCHEMA = json.loads((Path(__file__).parents[2] / "docs/reference/schemas/composed.json").read_text("utf-8"))
TEXT = "RYRY THE QUICK BROWN FOX 1234567890"
CODES = encode(TEXT, ITA2)
T = 0.022


def compose(capsys, *words):
    assert run(["line", "compose", *map(str, words), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    jsonschema.validate(document, SCHEMA)
    return document


def from_samples(high, rate_hz):
    at = np.flatnonzero(np.diff(high.astype(int))) + 1
    return at / rate_hz, high[at], bool(high[0])


def from_rows(path, delimiter):
    rows = list(csv.reader(path.open(encoding="ascii"), delimiter=delimiter))
    assert rows[0][0] == "time_s"
    times, values = (np.array(column, dtype=float) for column in zip(*rows[1:], strict=True))
    high = values > values.mean() if rows[0][1] == "volts" else values > 0.5
    at = np.flatnonzero(np.diff(high.astype(int))) + 1
    return times[at], high[at], bool(high[0])


def from_vcd(path):
    times, levels, now, tick_s = [], [], 0, None
    with path.open("rb") as file:
        for token in tokenize(file):
            if token.kind is TokenKind.TIMESCALE:
                assert (token.timescale.magnitude, token.timescale.unit.value) == (1, "ns")
                tick_s = 1e-9
            elif token.kind is TokenKind.VAR:
                assert (token.var.reference, token.var.size) == ("line", 1)
            elif token.kind is TokenKind.CHANGE_TIME:
                now = token.time_change
            elif token.kind is TokenKind.CHANGE_SCALAR:
                times.append(now * tick_s)
                levels.append(token.scalar_change.value == "1")
    return np.array(times[1:]), np.array(levels[1:]), levels[0]


def from_wav(path):
    volts, rate = soundfile.read(path)
    return from_samples(volts > 0, rate)


def read_back(path, rate_hz=None):
    if path.suffix == ".npy":
        return from_samples(np.load(path) > 0.5, rate_hz)
    if path.suffix == ".npz":
        with np.load(path) as arrays:
            return from_samples(arrays["samples"] > 0.5, float(arrays["rate_hz"]))
    if path.suffix in (".csv", ".tsv"):
        return from_rows(path, "," if path.suffix == ".csv" else "\t")
    return {".vcd": from_vcd, ".wav": from_wav}[path.suffix](path)


@pytest.mark.parametrize("name", ["a.wav", "a.csv", "a.tsv", "a.vcd", "a.npy", "a.npz"])
@pytest.mark.parametrize("idle", ["high", "low"])
def test_every_format_says_what_was_sent(name, idle, tmp_path, capsys):
    document = compose(capsys, TEXT, "-o", tmp_path / name, "--idle", idle)
    times, high, starts_high = read_back(tmp_path / name, document["rate_hz"])
    assert starts_high is (idle == "high")
    mark, starts_mark = (high, starts_high) if idle == "high" else (~high, not starts_high)
    assert read_codes(times, mark, starts_mark, T) == CODES == document["codes"]
    assert document["unit_ms"] == pytest.approx(22, abs=1e-9)
    assert document["changes"] == times.size


@pytest.mark.parametrize("kind", ["edges", "logic", "volts"])
def test_tables_hold_changes_samples_or_voltages(kind, tmp_path, capsys):
    compose(capsys, "RY", "-o", tmp_path / "a.csv", "--as", kind, "--rate", 20_000)
    times, high, starts = read_back(tmp_path / "a.csv")
    assert read_codes(times, high, starts, T) == ["01010", "10101"]
    rows = (tmp_path / "a.csv").read_text("ascii").count("\n")
    assert (rows > 10_000) is (kind != "edges")


@pytest.mark.parametrize(("bias", "end"), [(20, 0), (-9.1, 0), (0, 10), (0, -15), (5, -5), (-30, 20)])
def test_distortion_is_what_was_asked(bias, end, tmp_path, capsys):
    # FED-STD-1037C: bias moves space-to-mark instants only, end distortion mark-to-space only; late is positive
    compose(capsys, TEXT, "-o", tmp_path / "a.csv", "--bias", bias, "--end", end, "--rate", 1e9)
    times, mark, _ = read_back(tmp_path / "a.csv")
    for _, boundary, closing, d in instants_after_start(times, mark, T):
        wanted = -bias / 100 if closing else end / 100 if boundary else 0.0
        assert d == pytest.approx(wanted, abs=2e-7)


@pytest.mark.parametrize("percent", [-0.75, 5, -5])
def test_speed_error_is_what_was_asked(percent, tmp_path, capsys):
    document = compose(capsys, TEXT, "-o", tmp_path / "a.csv", "--speed-error", percent, "--rate", 1e9)
    times, mark, _ = read_back(tmp_path / "a.csv")
    wanted = T / (1 + percent / 100)
    assert document["unit_ms"] == pytest.approx(1000 * wanted)
    assert max(abs(d) for *_, d in instants_after_start(times, mark, wanted)) < 1e-6
    if percent == -0.75:  # derived: 0.75 % slow is 4.5 % at the sixth boundary
        assert max(abs(d) for *_, d in instants_after_start(times, mark, T)) == pytest.approx(0.045, abs=5e-4)


def test_scatter_is_what_was_asked(tmp_path, capsys):
    compose(capsys, TEXT, "--repeat", 10, "-o", tmp_path / "a.csv", "--scatter", 3)
    times, mark, _ = read_back(tmp_path / "a.csv")
    spread = np.array([d for _, b, _, d in instants_after_start(times, mark, T) if b])
    assert spread.std() == pytest.approx(0.03, rel=0.05)
    assert abs(spread.mean()) < 0.003


@pytest.mark.parametrize("baud", [45.45, 50, 56.88, 74.2, 75, 100, 110])
def test_every_speed(baud, tmp_path, capsys):
    document = compose(capsys, TEXT, "-o", tmp_path / "a.csv", "--baud", baud)
    times, mark, starts = read_back(tmp_path / "a.csv")
    unit_s = T if baud == 45.45 else 1 / baud
    assert read_codes(times, mark, starts, unit_s) == CODES
    assert document["stop_units"] == (1.42 if baud in (45.45, 56.88, 74.2) else 1.5)


@pytest.mark.parametrize(("bits", "kind"), [(8, "PCM_U8"), (16, "PCM_16"), (24, "PCM_24"), (32, "PCM_32")])
def test_wav_of_every_width_is_read_by_a_general_library(bits, kind, tmp_path, capsys):
    compose(capsys, "RY", "-o", tmp_path / "a.wav", "--bits", bits)
    seen = soundfile.info(tmp_path / "a.wav")
    assert (seen.subtype, seen.samplerate, seen.channels) == (kind, 44_100, 1)
    volts, _ = soundfile.read(tmp_path / "a.wav")
    assert 0.45 < volts.max() < 0.55  # a band limit overshoots by 9 % of the step (Gibbs)
    assert volts[100] == pytest.approx(0.45, abs=0.01)
    assert from_wav(tmp_path / "a.wav")[0].size == 12


def test_ac_coupled_sound_loses_its_level(tmp_path, capsys):
    compose(capsys, "BLANK", "-o", tmp_path / "a.wav", "--ac-coupled", 20)
    volts, _ = soundfile.read(tmp_path / "a.wav")
    assert np.abs(volts[:10_000]).max() < 1e-3
    assert volts.max() > 0.4


def test_machine_and_single_faults(tmp_path, capsys):
    petrel = compose(capsys, TEXT, "-o", tmp_path / "a.csv", "--machine", "petrel")
    assert petrel["unit_ms"] == pytest.approx(22 / 0.99)
    assert max(petrel["contacts"], key=lambda c: c["closing_late_ms"])["contact"] == "3"
    faults = ("--late", "4=2", "--late-opening", "stop=-1", "--bounce-ms", "0.5")
    one = compose(capsys, TEXT, "-o", tmp_path / "b.csv", *faults)
    assert [c["closing_late_ms"] for c in one["contacts"]] == [0, 0, 0, 2, 0, 0]
    assert one["contacts"][5]["opening_late_ms"] == -1
    assert {c["bounce_ms"] for c in one["contacts"]} == {0.5}


def test_bars_dropouts_glitches_and_lost_samples(tmp_path, capsys):
    wrong = compose(capsys, "SKERRY", "-o", tmp_path / "a.csv", "--bar", "3=space", "--bar", "1=mark")
    assert wrong["keyed"] == encode("SKERRY", ITA2)
    assert wrong["codes"] == ["1" + c[1] + "0" + c[3:] for c in wrong["keyed"]]
    times, mark, starts = read_back(tmp_path / "a.csv")
    assert read_codes(times, mark, starts, T) == wrong["codes"]
    plain = compose(capsys, TEXT, "-o", tmp_path / "a.csv")["changes"]
    assert compose(capsys, TEXT, "-o", tmp_path / "a.csv", "--dropouts", "20")["changes"] > plain
    assert compose(capsys, TEXT, "-o", tmp_path / "a.csv", "--glitches", "5")["changes"] > plain
    whole = compose(capsys, TEXT, "-o", tmp_path / "a.npz")
    compose(capsys, TEXT, "-o", tmp_path / "b.npz", "--lost", 1)
    compose(capsys, TEXT, "-o", tmp_path / "c.npz", "--lost", 1, "--noise", 2)
    with np.load(tmp_path / "a.npz") as a, np.load(tmp_path / "b.npz") as b, np.load(tmp_path / "c.npz") as c:
        assert a["samples"].size - b["samples"].size == a["samples"].size - c["samples"].size == 20
    assert whole["contents"] == "logic"


def test_the_same_seed_writes_the_same_bytes(tmp_path, capsys):
    for name in ("a.wav", "b.wav", "a.npz", "b.npz"):
        compose(capsys, TEXT, "-o", tmp_path / name, "--machine", "petrel", "--seed", 7, "--as",
                "volts", "--noise", 2)  # fmt: skip
    assert (tmp_path / "a.wav").read_bytes() == (tmp_path / "b.wav").read_bytes()
    assert (tmp_path / "a.npz").read_bytes() == (tmp_path / "b.npz").read_bytes()


def test_all_pairs_holds_every_ordered_pair_once():
    codes = all_pairs()
    assert len(codes) == 1025
    assert len(set(pairwise(codes))) == 1024


@pytest.mark.parametrize("name", sorted(PATTERNS))
def test_patterns_can_be_composed_and_read(name, tmp_path, capsys):
    compose(capsys, "--pattern", name, "--count", 40, "-o", tmp_path / "a.csv")
    times, mark, starts = read_back(tmp_path / "a.csv")
    assert read_codes(times, mark, starts, T) == pattern(name, ITA2, 40)


def test_patterns_are_what_their_names_say():
    assert set(pattern("single-marks", ITA2)) == {encode(c, ITA2)[0] for c in "E\n \rT"}
    assert set(pattern("single-spaces", ITA2)) == {ITA2.code_of(c, figures=False) for c in "VXQK"} | {"11011"}
    assert sorted(pattern("all-codes", ITA2)) == sorted(ITA2.letters)
    # derived from seen definitions: R xor Y = 11111; the fox sentence is 43 characters without shifts
    first, second = pattern("ry", ITA2, 2)
    assert int(first, 2) ^ int(second, 2) == 31
    assert len(pattern("pangram", ITA2)) == 43


def test_a_repeated_text_begins_again_in_letters(tmp_path, capsys):
    codes = compose(capsys, "A1", "-o", tmp_path / "a.csv", "--repeat", 3)["codes"]
    assert decode(codes, ITA2) == "A1A1A1"


def test_text_from_a_file(tmp_path, capsys):
    (tmp_path / "t.txt").write_bytes(b"AB\nCD\n")
    document = compose(capsys, f"@{tmp_path / 't.txt'}", "-o", tmp_path / "a.csv")
    assert document["codes"] == encode("AB\r\nCD\r\n", ITA2), "the file as it stands, its last line end too"


def test_begin_cut_off(tmp_path, capsys):
    compose(capsys, "RYRY", "-o", tmp_path / "a.csv", "--begin-ms", 330)
    times, _, starts = read_back(tmp_path / "a.csv")
    assert starts is False
    assert times[0] == pytest.approx(0.344 - 0.330, abs=2e-6)


@pytest.mark.parametrize(("words", "code", "says"), [
    (["-o", "a.csv"], 2, "either TEXT or --pattern"),
    (["A", "--pattern", "ry", "-o", "a.csv"], 2, "either TEXT or --pattern"),
    (["A", "--count", "3", "-o", "a.csv"], 2, "--count goes with --pattern"),
    (["A", "-o", "a.mp4"], 2, "must end in one of"),
    (["A", "-o", "a.csv", "--bias", "nan"], 2, "expected a number"),
    (["A", "-o", "a.csv", "--bias", "90", "--end", "90"], 2, "below a whole unit"),
    (["A", "-o", "a.csv", "--late", "9=1"], 2, "expected NAME=NUMBER"),
    (["A", "-o", "a.csv", "--bar", "3=up"], 2, "expected NAME=WORD"),
    (["A", "-o", "a.csv", "--lost", "3"], 2, "--lost needs samples"),
    (["A", "-o", "a.csv", "--late", "3=x"], 2, "expected a number"),
    (["A", "-o", "a.vcd", "--noise", "3"], 2, "needs voltages"),
    (["A", "-o", "a.vcd", "--as", "volts"], 2, "can hold edges"),
    (["A", "-o", "a.csv", "--bits", "8"], 2, "--bits goes with"),
    (["A", "-o", "a.wav", "--rate", "44100.5"], 2, "whole number"),
    (["A", "-o", "a.wav", "--rate", "1000000000", "--repeat", "100"], 2, "longer than a WAV"),
    (["--pattern", "all-pairs", "--repeat", "249999", "-o", "a.csv"], 2, "more than"),
    (["A", "-o", "a.csv", "--begin-ms", "200000"], 2, "nothing is left"),
    (["ÄÖ", "-o", "a.csv"], 4, "character 1 ('Ä')"),
    (["@nowhere.txt", "-o", "a.csv"], 4, "nowhere.txt"),
    (["A", "-o", "no/such/folder/a.csv"], 4, "no/such/folder: expected a folder of that name; found none"),
])  # fmt: skip
def test_what_cannot_be_done_is_said(words, code, says, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert run(["line", "compose", *words]) == code
    err = capsys.readouterr().err
    assert says in err
    assert "Traceback" not in err
    assert list(tmp_path.iterdir()) == []


def test_text_in_no_encoding_is_refused(tmp_path, capsys):
    (tmp_path / "t.txt").write_bytes(b"AB\xff")
    assert run(["line", "compose", f"@{tmp_path / 't.txt'}", "-o", str(tmp_path / "a.csv")]) == 4
    assert "byte 2" in capsys.readouterr().err


def test_words_for_people(tmp_path, capsys):
    assert run(["line", "compose", "RY", "-o", str(tmp_path / "a.csv"), "--late", "3=1.52", "--bias", "-9"]) == 0
    said = capsys.readouterr().out
    assert "Contact 3 closes 1.52 ms late, opens on time" in said
    assert "Marking bias -9 %" in said


WORDS = st.one_of(
    st.sampled_from(["3=1", "all=0.5", "stop=-2", "=", "9=9", "=1", "nan", "inf", "-1e9", "1e400", "", "0x10", "é"]),
    st.floats(-200, 200).map(str),
    st.text(max_size=4),
)
OPTIONS = [
    "--bias", "--end", "--scatter", "--speed-error", "--hunt", "--hunt-hz", "--cold", "--stop-units", "--baud",
    "--late", "--late-opening", "--bounce-ms", "--gap-ms", "--begin-ms", "--lead-ms", "--tail-ms", "--noise", "--hum",
    "--edge-ms", "--ac-coupled", "--clock-ppm", "--rate", "--count", "--seed", "--as", "--idle", "--bits",
    "--machine", "--pattern", "--dropouts", "--bar", "--glitches", "--lost",
]  # fmt: skip


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    text=st.text("ABRY 123é\n\0", max_size=6),
    options=st.lists(st.tuples(st.sampled_from(OPTIONS), WORDS), max_size=4),
    name=st.sampled_from(["a.csv", "a.wav", "a.vcd", "a.npy", "a.npz", "a", ".csv", "a.exe"]),
)
def test_any_options_end_in_a_file_or_in_words(text, options, name, tmp_path):
    err = io.StringIO()
    with contextlib.redirect_stderr(err), contextlib.redirect_stdout(io.StringIO()):
        code = run(["line", "compose", *[w for pair in options for w in pair], "-o", str(tmp_path / name), "--", text])
    assert code in (0, 2, 4)
    assert "Traceback" not in err.getvalue()
    assert bool(err.getvalue()) is (code != 0)
    assert not [path for path in tmp_path.iterdir() if path.name.endswith(".unfinished")]


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    codes=st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZ 0123456789", min_size=1, max_size=12),
    baud=st.sampled_from([45.45, 50, 74.2, 100, 110]),
    bias=st.integers(-20, 20),
    end=st.integers(-10, 10),
    speed=st.integers(-5, 5),
    late=st.floats(-1, 1),
    gap=st.sampled_from([0, 150]),
    seed=st.integers(0, 2**32),
)
def test_moderate_faults_leave_the_text_readable(codes, baud, bias, end, speed, late, gap, seed, tmp_path, capsys):
    document = compose(
        capsys, codes, "-o", tmp_path / "a.csv", "--baud", baud, "--bias", bias, "--end", end, "--speed-error", speed,
        "--late", f"3={late}", "--gap-ms", gap, "--seed", seed, "--scatter", 1,
    )  # fmt: skip
    times, mark, starts = read_back(tmp_path / "a.csv")
    assert read_codes(times, mark, starts, document["unit_ms"] / 1000) == encode(codes, ITA2) == document["codes"]
