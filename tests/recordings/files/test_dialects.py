"""Every dialect in which bench instruments write a recording, against its writer's own truth (tests/worlds/line)."""

import gzip

import numpy as np
import pytest

from tapewright.errors import InputError
from tapewright.recordings.files.read import read_recordings
from worlds.line.files import DIALECTS
from worlds.line.files_signal import draw_signal

SEEDS = (3,)
#: the line where a dialect names no channel, or names the bits of a vector
LINE = {"values only": "Data", "preamble beside": "2", "bare": "2", "scientific": "2", "durations": "level",
        "dump vector": "PORT[0]"}  # fmt: skip


@pytest.fixture(scope="module")
def signals():
    return {seed: draw_signal(seed) for seed in SEEDS}


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("name", DIALECTS)
def test_every_dialect_is_read_as_it_was_written(tmp_path, signals, name, seed):
    written = DIALECTS[name](signals[seed], tmp_path / "a.csv")
    found = read_recordings(written.path)
    assert len(found) == len(written.columns)
    (line,) = [each for each in found if each.channel.split(" ")[0] == LINE.get(name, "LINE")]
    value = written.columns["LINE"]
    known = np.flatnonzero(np.isfinite(value))
    high = value[known] > (np.nanmin(value) + np.nanmax(value)) / 2
    changed = np.flatnonzero(high[1:] != high[:-1])
    # moments are counted from the first
    times_s = written.since_first_s if name in ("time of day", "date and time") else written.times_s
    before, after = times_s[known[changed]], times_s[known[changed + 1]]
    assert line.edges.starts_high == high[0]
    assert line.edges.level_after.tolist() == high[changed + 1].tolist()
    slack_s = 2e-6
    if written.content == "changes":
        assert line.edges.times_s == pytest.approx(after, abs=slack_s)
    else:  # somewhere between two samples
        assert (line.edges.times_s >= before - slack_s).all()
        assert (line.edges.times_s <= after + slack_s).all()
        assert line.rate_hz == pytest.approx(signals[seed].rate_hz, rel=1e-4)
    if written.end_s is not None:
        assert line.edges.end_s == pytest.approx(written.end_s, abs=slack_s)


ROWS = [f"{n / 1000:.3f},{n // 7 % 2 * 3.3 + n % 3 / 100:.2f}\n" for n in range(300)]


def read_text(tmp_path, text, **how):
    (tmp_path / "a.csv").write_text(text)
    return read_recordings(tmp_path / "a.csv", **how)


@pytest.mark.parametrize("first", [100, 200])
def test_rows_with_another_separator_are_refused_by_their_place(tmp_path, first):
    rows = [row.replace(",", ";") if n < first else row for n, row in enumerate(ROWS)]
    with pytest.raises(InputError, match=r"row (1|201): expected cells parted by .*; found cells parted by"):
        read_text(tmp_path, "".join(rows))


@pytest.mark.parametrize("row", [20, 280])
def test_a_cell_that_is_no_number_makes_no_preamble_of_the_rows_above(tmp_path, row):
    rows = [*ROWS]
    rows[row] = "0.020,spike\n"
    with pytest.raises(InputError, match=rf"row {row + 2}: expected a number in column 'v'; found 'spike'"):
        read_text(tmp_path, "t,v\n" + "".join(rows))


def test_a_row_with_too_many_cells_is_refused(tmp_path):
    with pytest.raises(InputError, match=r"row 152: expected 2 cells; found 3"):
        read_text(tmp_path, "t,v\n" + "".join(ROWS[:150]) + "0.150,3.3,7\n" + "".join(ROWS[151:]))


@pytest.mark.parametrize("head", ["", "level,length ms\n"])
def test_levels_and_how_long_they_last(tmp_path, head):
    (only,) = read_text(tmp_path, head + "1,150\n0,22\n1,44\n0,22\n1,22\n0,66\n1,100\n")
    assert only.edges.times_s == pytest.approx([0.150, 0.172, 0.216, 0.238, 0.260, 0.326])
    assert only.edges.starts_high is True
    assert only.edges.end_s == pytest.approx(0.426)


def test_one_channel_of_a_list_of_changes_has_the_instants_it_has_among_all(tmp_path):
    text = "t,line,clock\n" + "".join(f"{n * 0.005:.4f},{n // 9 % 2},{n % 2}\n" for n in range(200))
    (alone,) = read_text(tmp_path, text, channel="line")
    assert alone.kind == "csv, list of changes"
    assert alone.edges.times_s.tolist() == read_text(tmp_path, text)[0].edges.times_s.tolist()


def test_a_packed_file_cut_short_is_refused(tmp_path):
    path = tmp_path / "a.csv.gz"
    whole = gzip.compress("".join(ROWS).encode())
    for length in (len(whole) // 2, len(whole) - 4):
        path.write_bytes(whole[:length])
        with pytest.raises(InputError, match=r"a\.csv\.gz: expected a whole gzip file; .* cut short or damaged"):
            read_recordings(path)
    path.write_bytes(whole[:60] + b"\xff\xff\xff\xff" + whole[64:])
    with pytest.raises(InputError, match="gzip"):
        read_recordings(path)


def test_a_packed_file_that_unpacks_to_too_much_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr("tapewright.recordings.files.read.ALWAYS_ALLOWED", 1000)
    (tmp_path / "a").write_bytes(gzip.compress(b"0.001,1\n" * 100_000))
    with pytest.raises(InputError, match="found more"):
        read_recordings(tmp_path / "a")


def test_held_levels_of_a_dump_with_a_third_one(tmp_path):
    """The real value stays until the next: an edge is where it is written, whatever it rested on between."""
    changes = [(0, 5.0), (100, 0.0), (120, 5.0), (160, 2.6), (161, 0.0), (180, 5.0), (260, 2.4), (270, 0.0), (300, 5.0)]
    text = "$timescale 1 ms $end $var real 64 ! line $end $enddefinitions $end\n"
    text += "".join(f"#{at} r{value} !\n" for at, value in changes) + "#400\n"
    (tmp_path / "a").write_text(text)
    (only,) = read_recordings(tmp_path / "a")
    assert only.edges.times_s.tolist() == pytest.approx([0.100, 0.120, 0.161, 0.180, 0.260, 0.300], abs=0.0101)
    assert only.edges.u_s.max() < 1e-3
    assert only.edges.end_s == 0.4
