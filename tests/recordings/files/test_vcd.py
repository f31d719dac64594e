"""VCD files: written by an independent library (pyvcd), and the corners of IEEE 1364-2005 clause 18 by hand."""

import numpy as np
import pytest
import vcd

from tapewright.errors import InputError
from tapewright.recordings.files.read import read_recordings

#: instants in microseconds, made up
EDGES_US = (50_300, 72_300, 94_100, 160_200, 160_500, 160_900, 204_700, 226_700, 270_600, 358_700)


def write(path, timescale="1 us", ticks_per_us=1):
    with path.open("w") as file, vcd.VCDWriter(file, timescale=timescale, date="", comment="") as writer:
        line = writer.register_var("bench", "line", "wire", size=1, init=1)
        bus = writer.register_var("bench.deep", "bus", "wire", size=4, init=0b1010)
        level = writer.register_var("bench", "level", "real", init=3.3)
        for number, at in enumerate(EDGES_US):
            writer.change(line, at * ticks_per_us, number % 2)
            writer.change(bus, at * ticks_per_us, (number % 2) << 2 | 0b1010)
            writer.change(level, at * ticks_per_us, 3.3 if number % 2 else 0.1)
    return path


@pytest.mark.parametrize(("timescale", "ticks"), [("1 us", 1), ("10 ns", 100), ("1 ps", 1_000_000)])
def test_written_by_pyvcd(tmp_path, timescale, ticks):
    found = {each.channel: each for each in read_recordings(write(tmp_path / "a", timescale, ticks))}
    assert set(found) == {"line", "bus[3]", "bus[2]", "bus[1]", "bus[0]", "level"}
    for name in ("line", "level"):
        assert found[name].edges.times_s == pytest.approx(np.array(EDGES_US) * 1e-6, abs=1e-12)
        assert found[name].edges.starts_high is True
    assert found["bus[2]"].edges.times_s == pytest.approx(np.array(EDGES_US[1:]) * 1e-6, abs=1e-12)
    assert found["bus[2]"].edges.starts_high is False
    assert found["bus[3]"].edges.times_s.size == 0
    assert found["bus[3]"].edges.starts_high is True
    assert found["bus[0]"].edges.starts_high is False


def read_text(tmp_path, text, **how):
    path = tmp_path / "a.vcd"
    path.write_text(text)
    return read_recordings(path, **how)


HEAD = "$timescale {} $end $scope module m $end $var wire 1 ! line $end $upscope $end $enddefinitions $end\n"


def test_unknown_levels_are_missing_not_edges(tmp_path):
    text = HEAD.format("1ms") + "#0 $dumpvars 1! $end #20 0! #40 x! #60 0! #80 z! #100 1! #120\n"
    edges = read_text(tmp_path, text)[0].edges
    assert edges.missing.tolist() == [[0.04, 0.06], [0.08, 0.1]]
    assert edges.times_s.tolist() == [0.02, 0.1]
    assert (edges.begin_s, edges.end_s) == (0.0, 0.12)


def test_one_line_any_white_space_and_comments(tmp_path):
    text = "$comment a #5 1! $end\t" + HEAD.format("100\nus") + "#0\r\n1!\t#10 0! $comment #99 1! $end #20 1!"
    assert read_text(tmp_path, text)[0].edges.times_s == pytest.approx([0.001, 0.002])


def test_quick_way_equals_word_by_word(tmp_path):
    rng = np.random.default_rng(4)
    codes = ["!", "a", "bb", "ccc", "~~~~~~~"]
    heads = "".join(f"$var wire 1 {code} s{number} $end\n" for number, code in enumerate(codes))
    lines, tick = [], 0
    for _ in range(3000):
        tick += int(rng.integers(1, 50_000))
        lines.append(f"#{tick}")
        lines += [f"{rng.choice(list('01xz'))}{rng.choice(codes)}" for _ in range(rng.integers(1, 4))]
    quick = "$timescale 1 us $end " + heads + "$enddefinitions $end\n" + "\n".join(lines)
    slow = quick + "\n$comment\nthe presence of this makes the piece be read word by word $end\n"
    assert "$comment" not in quick
    for a, b in zip(read_text(tmp_path, quick), read_text(tmp_path, slow), strict=True):
        assert a.edges.times_s.tolist() == b.edges.times_s.tolist()
        assert a.edges.missing.tolist() == b.edges.missing.tolist()
        assert a.edges.times_s.size > 100


def test_signal_by_short_or_full_name_and_alias(tmp_path):
    text = (
        "$timescale 1 ns $end $scope module a $end $var wire 1 ! line $end $upscope $end "
        '$scope module b $end $var wire 1 " line $end $upscope $end $enddefinitions $end #0 1! 0" #5 0! #9 1"\n'
    )
    assert [each.channel for each in read_text(tmp_path, text)] == ["a.line", "b.line"]
    (only,) = read_text(tmp_path, text, channel="b.line")
    assert only.edges.times_s == pytest.approx([9e-9])


def test_short_vectors_are_filled_on_the_left(tmp_path):
    text = "$timescale 1 s $end $var wire 4 ! v $end $enddefinitions $end #0 b1 ! #1 bx ! #2 b1000 !\n"
    found = {each.channel: each.edges for each in read_text(tmp_path, text)}
    assert found["v[3]"].starts_high is False
    assert found["v[3]"].missing.tolist() == [[1.0, 2.0]]
    assert found["v[3]"].times_s.tolist() == [2.0]
    assert found["v[0]"].times_s.tolist() == [2.0]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("$timescale 1 parsec $end $enddefinitions $end", "timescale"),
        ("$var wire one ! a $end $enddefinitions $end", "var"),
        ("$timescale 1 ns $end $enddefinitions $end", "at least one"),
        ("$timescale 1 ns $end $var wire 1 ! a $end", "enddefinitions"),
        (HEAD.format("1 ns") + "#12x 1!", "#time"),
        (HEAD.format("1 ns") + "#1 what!", "change such as"),
    ],
)
def test_damage_is_named(tmp_path, text, words):
    with pytest.raises(InputError, match=words):
        read_text(tmp_path, text)
