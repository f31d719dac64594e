"""Tables of text as instruments and people write them, and the kept readers against Python's own."""

from datetime import datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapewright.errors import InputError
from tapewright.recordings.files.csv_cells import cell_value
from tapewright.recordings.files.csv_dialect import find_dialect, split
from tapewright.recordings.files.csv_rows import by_numpy, by_polars
from tapewright.recordings.files.read import read_recordings

#: instants in seconds, made up; the line idles high and begins to fall at the first
EDGES_S = np.array([0.0503, 0.0723, 0.0941, 0.1602, 0.1605, 0.1609, 0.2047, 0.2267, 0.2706, 0.3587])
RATE_HZ = 20_000
TIMES_S = np.arange(8000) / RATE_HZ
LINE = 1 - np.searchsorted(EDGES_S, TIMES_S, side="right") % 2


def read_text(tmp_path, text, encoding="utf-8", **how):
    path = tmp_path / "a"
    path.write_bytes(text.encode(encoding))
    return read_recordings(path, **how)


def check(recording, tolerance_s=0.6 / RATE_HZ):
    assert recording.edges.times_s == pytest.approx(EDGES_S, abs=tolerance_s)
    assert recording.edges.starts_high is True


def sampled(form="{t:.5f},{v}", values=LINE, end="\n"):
    return "".join(
        form.format(t=t, v=v, n=n) + end for n, (t, v) in enumerate(zip(TIMES_S.tolist(), values, strict=True))
    )


VOLTS = np.round(LINE * 3.2 + 0.05 + np.random.default_rng(1).normal(0, 0.02, LINE.size), 3)
SHAPES = {
    "bare": sampled(),
    "header": "time,line\n" + sampled(),
    "header with unit": "time (ms),line\n" + "".join(f"{t * 1e3:.2f},{v}\n" for t, v in zip(TIMES_S, LINE, strict=True)),  # noqa: E501
    "units row": "Time;CH1\nus;V\n" + "".join(f"{t * 1e6:.0f};{v}\n" for t, v in zip(TIMES_S, VOLTS, strict=True)),
    "preamble": "Model,scope\nDate,2026-01-01\nSample Interval,5E-05,s\n\nSecond,Volt\n" + sampled(values=VOLTS),
    "decimal comma": "Zeit;Kanal A\n(s);(V)\n" + sampled("{t:.5f};{v}", VOLTS).replace(".", ","),
    "tabs": "t\tline\n" + sampled("{t:.5f}\t{v}"),
    "blanks": sampled("  {t:.5f}   {v}"),
    "quoted": '"Time (s)","line"\n' + sampled('"{t:.5f}","{v}"'),
    "returns": "time,line\r\n" + sampled(end="\r\n"),
    "old line ends": "time,line\r" + sampled(end="\r"),
    "exponents": "x-axis,1\nsecond,Volt\n" + sampled("{t:.6E},{v:.3E}", VOLTS),
    "trailing separator": "time,line,\n" + sampled("{t:.5f},{v},"),
    "numbered rows": "Sample,Time[s],line\n" + sampled("{n},{t:.5f},{v}"),
    "negative start": "time,line\n" + sampled().replace("0.00000,", "-0.00000,", 1),
    "words": "time,line\n" + sampled(values=np.where(LINE, "High", "low")),
    "truth": "time,line\n" + sampled(values=np.where(LINE, "TRUE", "false")),
    "no trailing line end": sampled().rstrip("\n"),
    "varying digits": sampled("{t!r},{v}"),
}  # fmt: skip


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: shape.replace(" ", "-"))
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_sampled_in_every_shape(tmp_path, shape, encoding):
    (only,) = read_text(tmp_path, SHAPES[shape], encoding)
    check(only)
    assert only.rate_hz == pytest.approx(RATE_HZ, rel=1e-5)
    assert not only.edges.suspicions


@pytest.mark.parametrize(
    ("text", "how"),
    [
        ("line\n" + "".join(f"{v}\n" for v in LINE), {"rate_hz": RATE_HZ}),
        ("Sample Rate: 20 kHz\nline\n" + "".join(f"{v}\n" for v in VOLTS), {}),
        ("Increment,0.05,ms\nline,other\n" + "".join(f"{v},0\n" for v in VOLTS), {"channel": "line"}),
        ("sample,line\n" + "".join(f"{n},{v}\n" for n, v in enumerate(LINE)), {"rate_hz": RATE_HZ}),
    ],
)
def test_without_times(tmp_path, text, how):
    check(read_text(tmp_path, text, **how)[0])


def test_without_times_or_rate_is_refused(tmp_path):
    with pytest.raises(InputError, match="--rate"):
        read_text(tmp_path, "line\n" + "".join(f"{v}\n" for v in LINE))


CHANGES = [(0.0, 1), *((at, number % 2) for number, at in enumerate(EDGES_S))]


@pytest.mark.parametrize(
    "text",
    [
        "time_s,level\n" + "".join(f"{t:.6f},{v}\n" for t, v in CHANGES),
        "time (ms);level\n" + "".join(f"{t * 1e3:.3f};{v}\n" for t, v in CHANGES).replace(".", ","),
        "".join(f"{t * 1e6:.0f}\t{('low', 'high')[v]}\n" for t, v in CHANGES),
        "time_s,level\n" + "".join(f"{t:.6f},{v}\n" for t, v in CHANGES[1:]),
        "time_s\n" + "".join(f"{t:.6f}\n" for t, _ in CHANGES[1:]),
        "t,v\n" + "".join(f"{t:.6f},{1 - v}\n{t:.6f},{v}\n" for t, v in CHANGES[1:]),
    ],
    ids=["seconds", "comma and ms", "bare us and words", "first row is a change", "times alone", "both levels"],
)
def test_lists_of_changes(tmp_path, text):
    (only,) = read_text(tmp_path, text)
    check(only, 1e-6)
    assert only.rate_hz is None


def test_many_channels_in_one_pass(tmp_path):
    text = "Time (s),D0,D1,D2\n" + "".join(f"{t:.5f},0,{v},{1 - v}\n" for t, v in zip(TIMES_S, LINE, strict=True))
    first, second, third = read_text(tmp_path, text)
    assert first.edges.times_s.size == 0
    check(second)
    assert third.edges.times_s.tolist() == second.edges.times_s.tolist()
    assert third.edges.starts_high is False
    check(read_text(tmp_path, text, channel="d1")[0])
    check(read_text(tmp_path, text, channel="2")[0])


def test_dropped_samples_are_said_and_their_place_is_missing(tmp_path):
    kept = np.ones(TIMES_S.size, bool)
    kept[2500:2550] = False
    text = "time,v\n" + "".join(f"{t:.5f},{v}\n" for t, v in zip(TIMES_S[kept], VOLTS[kept], strict=True))
    (only,) = read_text(tmp_path, text)
    assert [each.suspicion for each in only.edges.suspicions] == ["dropped samples"]
    assert "about 50 samples" in only.edges.suspicions[0].evidence
    assert only.edges.missing == pytest.approx(np.array([[TIMES_S[2499], TIMES_S[2550]]]))
    check(only)


def test_times_with_too_few_digits_are_said_and_mended(tmp_path):
    (only,) = read_text(tmp_path, "time,v\n" + sampled("{t:.3f},{v}", VOLTS))
    assert [each.suspicion for each in only.edges.suspicions] == ["repeated timestamps"]
    check(only)


def test_time_that_runs_backwards_is_said(tmp_path):
    rows = sampled(values=VOLTS).splitlines()
    rows[3000:3100], rows[3200:3300] = rows[3200:3300], rows[3000:3100]
    (only,) = read_text(tmp_path, "time,v\n" + "\n".join(rows))
    assert "time runs backwards" in [each.suspicion for each in only.edges.suspicions]


def test_irregular_times_are_used_as_written(tmp_path):
    rng = np.random.default_rng(3)
    times = np.cumsum(rng.uniform(2e-5, 8e-5, 8000))
    line = 1 - np.searchsorted(EDGES_S, times, side="right") % 2
    (only,) = read_text(
        tmp_path, "time,v\n" + "".join(f"{t:.7f},{v * 3.3:.2f}\n" for t, v in zip(times, line, strict=True))
    )
    check(only, 0.5e-4)
    assert only.rate_hz is None


def test_strange_row_is_named(tmp_path):
    text = "time,v\n" + sampled()
    with pytest.raises(InputError, match=r"row 5002.*'v'.*'what'"):
        read_text(tmp_path, text.replace("0.25000,1\n", "0.25000,what\n").replace("0.25000,0\n", "0.25000,what\n"))


def test_thresholds_of_the_user(tmp_path):
    (only,) = read_text(tmp_path, "time,v\n" + sampled(values=VOLTS), threshold=(1.0, 2.0))
    assert only.threshold_v == (1.0, 2.0)
    check(only)


FORMS = st.sampled_from(["%.0f", "%.1f", "%.4f", "%.6f", "%.2e", "%.5E", "%+.3f", "%08.3f"])
NUMBERS = st.floats(-1e6, 1e6).map(lambda x: round(x, 4))


def dialect_of(separator, decimal, width):
    cells = separator.join(["0.5".replace(".", decimal)] * width) + "\n"
    return find_dialect(cells.encode() * 3, whole=True)


@pytest.mark.parametrize("reader", [by_numpy, by_polars])
@settings(deadline=None, max_examples=60)
@given(
    rows=st.lists(st.tuples(NUMBERS, NUMBERS, NUMBERS), min_size=1, max_size=30),
    forms=st.tuples(FORMS, FORMS, FORMS),
    separator=st.sampled_from([(",", "."), (";", ","), ("\t", ".")]),
    end=st.sampled_from(["\n", "\r\n"]),
)
def test_the_kept_readers_give_the_nearest_doubles(reader, rows, forms, separator, end):
    """Against Python's own reading of each cell."""
    sign, decimal = separator
    cells = [[form % x for form, x in zip(forms, row, strict=True)] for row in rows]
    text = "".join(sign.join(row).replace(".", decimal) + end for row in cells)
    found = reader(text.encode(), dialect_of(sign, decimal, 3), 3)
    assert found.tolist() == [[float(cell) for cell in row] for row in cells]


@pytest.mark.parametrize("reader", [by_numpy, by_polars])
@settings(deadline=None, max_examples=100)
@given(text=st.text(alphabet="0123456789.,+-e \n;x", max_size=60))
def test_the_kept_readers_give_no_other_answer_than_cell_by_cell(reader, text):
    dialect = dialect_of(",", ".", 2)
    found = reader(text.encode(), dialect, 2)
    if found is not None and text.strip():
        cells = [[cell_value(cell, ".") for cell in split(line, ",")] for line in text.split("\n") if line.strip()]
        expected = np.array([row + [np.nan] * (2 - len(row)) for row in cells], float)
        assert np.array_equal(found, expected, equal_nan=True)


@pytest.mark.parametrize("shape", ["header", "decimal comma", "exponents", "trailing separator", "quoted", "words"])
def test_a_long_table_is_read_as_a_short_one(tmp_path, monkeypatch, shape):
    short = read_text(tmp_path, SHAPES[shape])[0]
    monkeypatch.setattr("tapewright.recordings.files.csv_rows.LONG_FROM_BYTES", 0)
    monkeypatch.setattr("tapewright.recordings.files.csv_rows.LONG_PIECE_BYTES", 30_000)
    assert read_text(tmp_path, SHAPES[shape])[0].edges.times_s.tolist() == short.edges.times_s.tolist()


def test_ideal_edges_on_whole_hundredths_are_not_taken_for_a_clock_that_coarse(tmp_path):
    path = tmp_path / "edges.csv"
    path.write_text("Time [s],Line\n0.00,1\n0.10,0\n0.12,1\n0.16,0\n0.22,1\n")
    (recording,) = read_recordings(path)
    assert recording.edges.u_s.max() == pytest.approx(1e-3 / 12**0.5)


#: an instant written as loggers and spreadsheets write it; the first edge falls just before midnight
STAMPS = {
    "ISO 8601": lambda t: (MIDNIGHT + timedelta(seconds=t)).isoformat(timespec="microseconds"),
    "ISO 8601, with offset": lambda t: (MIDNIGHT + timedelta(seconds=t)).isoformat(timespec="microseconds") + "+01:00",
    "date, space, clock": lambda t: (MIDNIGHT + timedelta(seconds=t)).strftime("%Y-%m-%d %H:%M:%S.%f"),
    "clock alone": lambda t: (MIDNIGHT + timedelta(seconds=t)).strftime("%H:%M:%S.%f"),
    "quoted, decimal comma": lambda t: (MIDNIGHT + timedelta(seconds=t)).strftime('"%H:%M:%S,%f"'),
}
MIDNIGHT = datetime(2031, 5, 4, 23, 59, 59, 900_000)  # noqa: DTZ001 - loggers write no zone


@pytest.mark.parametrize("name", STAMPS)
@pytest.mark.parametrize("head", ["", "time,line\n", "time (ms),line\n"])
def test_dates_and_clocks_are_times_also_past_midnight(tmp_path, name, head):
    rows = [(0.0, 1), *((float(t), n % 2) for n, t in enumerate(EDGES_S))]
    text = head + "".join(f"{STAMPS[name](t)},{level}\n" for t, level in rows)
    (recording,) = read_text(tmp_path, text)
    assert np.diff(recording.edges.times_s) == pytest.approx(np.diff(EDGES_S), abs=2e-6)
    assert not recording.edges.suspicions


def test_a_table_without_numbers_is_shown_by_its_first_line(tmp_path):
    with pytest.raises(InputError, match="text that begins 'the line was quiet'"):
        read_text(tmp_path, "the line was quiet\nall night\n")


@pytest.mark.parametrize("stamp", ["2031-02-30T10:00:00", "25:00:00", "10:61:00", "12:00"])
def test_no_moment_is_no_time(tmp_path, stamp):
    with pytest.raises(InputError):
        read_text(tmp_path, "".join(f"{stamp},{n % 2}\n" for n in range(9)))


@pytest.mark.parametrize("head", ["time (ms),line\n0,1\n", "t,line\n0.000,1\n", "", "time (ms)\n"])
def test_ideal_times_are_as_fine_as_they_are_written(tmp_path, head):
    """Ideal edges lie on whole hundredths; that they are written to the microsecond is seen from the digits."""
    level = ",{v}" if "line" in head or not head else ""
    rows = "".join(f"{20 * n:.3f}{level.format(v=n % 2)}\n" for n in (15, 16, 19, 20, 22, 23, 24, 27, 31, 38))
    (recording,) = read_text(tmp_path, head + rows)
    assert recording.edges.u_s.max() < 1e-6
