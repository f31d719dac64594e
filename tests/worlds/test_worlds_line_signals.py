"""Signals that are no five-unit lines, and files, against their own rules and against readers of others."""

import csv
import gzip
import io

import numpy as np
import pytest
from scipy import stats
from vcd.reader import TokenKind, tokenize

from worlds.line.files import DIALECTS, draw_signal, write_all
from worlds.line.strangers import COLUMNS_HZ, ROWS_HZ, STRANGERS

SEEDS = range(3)


def lengths(recording):
    """Return how long each level lasted between edges, and which it was."""
    return np.diff(recording.edges_s), recording.mark_after[:-1]


def test_there_are_over_forty_kinds():
    assert len(STRANGERS) >= 40


@pytest.mark.parametrize("kind", STRANGERS)
def test_every_kind_draws_by_seed(kind):
    drawn = [STRANGERS[kind](seed) for seed in SEEDS]
    again = STRANGERS[kind](1)
    shown = [r.samples if r.samples is not None else r.edges_s for r in [*drawn, again]]
    assert np.array_equal(shown[1], shown[3])
    assert len({values.tobytes() for values in shown[:3]}) == 3
    for recording, values in zip(drawn, shown, strict=False):
        assert not recording.truth.five_unit
        assert recording.truth.kind == kind
        assert np.all(np.isfinite(values))
        if recording.edges_s is not None:
            assert len(values) >= 40
            levels = np.append(recording.mark_first, recording.mark_after)
            assert np.all(levels[1:] != levels[:-1])
            assert np.all(np.diff(values) > 0)


@pytest.mark.parametrize("elements", [6, 7, 8])
@pytest.mark.parametrize("parity", ["even", "odd"])
def test_parity_holds_when_read_by_hand(elements, parity):
    for seed in SEEDS:
        recording = STRANGERS[f"start-stop, {elements} elements, parity {parity}"](seed)
        unit_s = recording.truth.facts["unit_ms"] / 1e3
        levels = np.append(recording.mark_first, recording.mark_after)
        t, read = 0.0, 0
        while True:
            later = recording.edges_s[(recording.edges_s > t) & ~recording.mark_after]
            if not len(later) or later[0] + (elements + 2) * unit_s > recording.duration_s:
                break
            middles_s = later[0] + (np.arange(elements + 3) + 0.5) * unit_s
            bits = levels[np.searchsorted(recording.edges_s, middles_s)]
            assert not bits[0]
            assert bits[-1]
            assert np.sum(bits[1:-1]) % 2 == (parity == "odd")
            t, read = middles_s[-1], read + 1
        assert read >= recording.truth.facts["characters"] - 1


def test_phase_codes_have_only_half_and_whole_bits():
    for kind in ("Manchester", "differential Manchester", "biphase time code"):
        recording = STRANGERS[kind](0)
        long_s = np.max(lengths(recording)[0][1:-1])
        assert np.all(np.isin(np.rint(lengths(recording)[0][1:-1] / long_s * 2), [1, 2]))
    frames = STRANGERS["biphase time code"](0)
    assert frames.duration_s == pytest.approx(6 / frames.truth.facts["frames_per_s"])


def test_the_random_telegraph_is_exponential():
    recording = STRANGERS["random telegraph"](1)
    mean_s = recording.truth.facts["mean_ms"] / 1e3
    assert stats.kstest(lengths(recording)[0], "expon", args=(0, mean_s)).pvalue > 1e-3


def test_the_shift_register_repeats_after_511_bits():
    recording = STRANGERS["shift register sequence"](0)
    bit_s = recording.truth.facts["bit_ms"] / 1e3
    levels = np.append(recording.mark_first, recording.mark_after)
    bits = levels[np.searchsorted(recording.edges_s, (np.arange(700) + 0.5) * bit_s)]
    assert np.array_equal(bits[511:], bits[: 700 - 511])
    assert np.sum(bits[:511]) == 256  # a maximal sequence has one more 1 than 0


def test_the_mains_has_its_frequency():
    for seed in SEEDS:
        recording = STRANGERS["mains, square"](seed)
        rises_s = recording.edges_s[recording.mark_after]
        hz = 1 / np.mean(np.diff(rises_s))
        assert min(abs(hz - 50), abs(hz - 60)) < 0.15


def test_a_dial_breaks_ten_times_a_second():
    # ten pulses a second, broken for about 60 per cent (common practice, no source)
    for seed in SEEDS:
        recording = STRANGERS["dialled digits"](seed)
        times_s, level = lengths(recording)
        broken_s, made_s = np.median(times_s[~level]), np.median(times_s[level])
        assert broken_s + made_s == pytest.approx(0.1, rel=0.25)
        assert 0.54 < broken_s / (broken_s + made_s) < 0.68


def test_two_tones_are_those_of_q23():
    # ITU-T Q.23, from memory: one of four rows and one of four columns
    recording = STRANGERS["two-tone bursts"](0)
    on = int(recording.truth.facts["on_ms"] / 1e3 * recording.rate_hz)
    burst = recording.volts[:on] * np.hanning(on)
    spectrum = np.abs(np.fft.rfft(burst, 1 << 16))
    f = np.fft.rfftfreq(1 << 16, 1 / recording.rate_hz)
    for low, high, allowed in ((600, 1050, ROWS_HZ), (1100, 1700, COLUMNS_HZ)):
        band = (f > low) & (f < high)
        peak_hz = f[band][np.argmax(spectrum[band])]
        assert np.min(np.abs(np.array(allowed) - peak_hz)) < 10


# ---- files


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    return write_all(tmp_path_factory.mktemp("dialects"), seed=4)


def test_there_are_over_twenty_dialects(written):
    assert len(written) == len(DIALECTS) >= 24
    for done in written.values():
        assert done.path.stat().st_size > 100
        assert np.all(np.diff(done.times_s) > 0)
        assert all(len(values) == len(done.times_s) for values in done.columns.values())


PLAIN = [  # dialect, rows to skip, separator, column of time, column of the line, time unit, volt unit
    ("units row", 2, ",", 0, 1, 1, 1),
    ("small units", 1, ",", 0, 1, 1e-3, 1e-3),
    ("preamble beside", 0, ",", 3, 4, 1, 1),
    ("semicolons", 2, ";", 0, 1, 1, 1),
    ("quoted commas", 2, ";", 0, 1, 1, 1),
    ("quoted between commas", 1, ",", 0, 1, 1, 1),
    ("scientific", 2, ",", 0, 1, 1, 1),
    ("four channels", 1, ",", 0, 3, 1, 1),
    ("comma at end", 1, ",", 0, 1, 1, 1),
    ("bare", 0, ",", 0, 1, 1, 1),
    ("changes", 1, ",", 0, 1, 1, 1),
    ("hex changes", 2, ",", 0, None, 1e-9, 1),
]


@pytest.mark.parametrize(("name", "skip", "separator", "time", "volts", "unit_s", "unit_v"), PLAIN)
def test_the_csv_module_reads_what_the_truth_says(written, name, skip, separator, time, volts, unit_s, unit_v):
    done = written[name]
    rows = [row for row in csv.reader(io.StringIO(done.path.read_text()), delimiter=separator) if row][skip:]
    assert [float(row[time].replace(",", ".")) * unit_s for row in rows] == pytest.approx(done.times_s, abs=1e-9)
    if volts is None:
        found = [int(row[1], 16) & 1 for row in rows]
    else:
        found = [float(row[volts].replace(",", ".")) * unit_v for row in rows]
    assert found == pytest.approx(done.columns["LINE"])


def test_compressed_and_wide_files_hold_the_same_table(written):
    plain = written["units row"]
    zipped, wide = written["zipped"], written["wide characters"]
    tables = [
        gzip.decompress(zipped.path.read_bytes()).decode(),
        wide.path.read_bytes().decode("utf-16").replace("\t", ","),
    ]
    for text in tables:
        cells = np.loadtxt(io.StringIO(text), delimiter=",", skiprows=1)
        assert cells[:, 0] == pytest.approx(plain.times_s)
        assert cells[:, 1] == pytest.approx(plain.columns["LINE"])


def test_durations_and_runs_add_up_to_the_whole(written):
    signal = draw_signal(4)
    whole_s = len(signal.volts) / signal.rate_hz
    rows = [row.split(",") for row in written["durations"].path.read_text().splitlines()[1:]]
    assert sum(float(length) for _, length in rows) * 1e-6 == pytest.approx(whole_s) == written["durations"].end_s
    runs = [row.split(",") for row in written["runs"].path.read_text().splitlines()[2:]]
    assert sum(int(count) for count, _ in runs) == len(signal.volts)
    assert np.repeat([int(v) for _, v in runs], [int(c) for c, _ in runs]).tolist() == signal.levels["LINE"].tolist()


def test_time_of_day_is_one_day_and_overload_is_not_a_number(written):
    day = written["time of day"]
    first = day.path.read_text().splitlines()[1].split(",")[0]
    hours, minutes, seconds = first.split(":")
    assert int(hours) * 3600 + int(minutes) * 60 + float(seconds) == pytest.approx(day.times_s[0], abs=1e-6)
    over = written["overload"]
    cells = [row.split(",")[1] for row in over.path.read_text().splitlines()[1:]]
    assert {cells[i] for i in np.nonzero(np.isnan(over.columns["LINE"]))[0]} == {"Inf", "-Inf", "OL"}


@pytest.mark.parametrize("name", ["dump scalars", "dump vector", "dump reals", "dump unknown"])
def test_dumps_are_read_by_another_reader(written, name):
    # pyvcd's reader of IEEE 1364 dumps
    done, now, found = written[name], 0, {}
    for token in tokenize(io.BytesIO(done.path.read_bytes())):
        if token.kind is TokenKind.CHANGE_TIME:
            now = token.data
        elif token.kind in (TokenKind.CHANGE_SCALAR, TokenKind.CHANGE_VECTOR, TokenKind.CHANGE_REAL):
            value = token.data.value
            if token.data.id_code in ("!", "%", "V") and value not in ("x", "z"):
                found[now] = float(int(value) & 1) if token.kind is not TokenKind.CHANGE_REAL else value
    assert now * 1e-6 == pytest.approx(done.end_s)
    times = np.array(list(found)) * 1e-6
    held = [found[round(t * 1e6)] for t in times]
    assert list(done.columns["LINE"][np.searchsorted(done.times_s, times - 1e-9)]) == pytest.approx(held)
    if name != "dump scalars":  # there rows of other wires stand between
        assert times == pytest.approx(done.times_s)


def test_the_file_shows_what_was_sent():
    # middle sampling by hand of the written volts gives the codes back
    for seed in SEEDS:
        signal = draw_signal(seed)
        truth = signal.recording.truth
        starts_s = truth.instants.time_s[truth.instants.k == 0]
        middles_s = starts_s[:, None] + (np.arange(1, 6) + 0.5) * truth.drive.unit_ms / 1e3
        bits = signal.volts[np.rint(middles_s * signal.rate_hz).astype(int)] > 2.5
        assert ["".join("01"[int(bit)] for bit in row) for row in bits] == list(truth.codes)
