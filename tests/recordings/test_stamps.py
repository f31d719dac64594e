"""Stamped edges: text and short form, cut anywhere, garbled, over a wire; read live and from a file."""

import json
import os
import socket
import threading
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as budget
from hypothesis import strategies as st

from tapewright.errors import InputError, WrongUseError
from tapewright.recordings.files import stamps_file
from tapewright.recordings.files.options import Options
from tapewright.recordings.live.asked import Asked
from tapewright.recordings.live.source import EdgePiece, GapPiece
from tapewright.recordings.live.stamped import StampedSource, open_source
from tapewright.recordings.stamps import Stamps
from tapewright.terminal.run import run
from worlds.line.machines import MACHINES

RATE = 1_000_000
HEAD = f"tapewright stamps 1\nrate {RATE} # a remark\r\nlevel 1\n"


def as_text(ticks, levels):
    return (HEAD + "begin\n" + "".join(f"{t} {int(up)}\n" for t, up in zip(ticks, levels, strict=True))).encode()


def leb128(value):
    out = bytearray()
    while value > 127:
        out.append(value & 127 | 128)
        value >>= 7
    return bytes([*out, value])


def as_short(ticks, levels):
    steps = np.diff(ticks, prepend=0)
    records = (leb128(int(step) * 8 + int(up)) for step, up in zip(steps, levels, strict=True))
    return (HEAD + "begin binary\n").encode() + b"".join(records)


@pytest.fixture(scope="module")
def machine():
    """A machine of the worlds written by somebody else: ticks and levels of its edges."""
    recorded = MACHINES["healthy"](3)
    ticks = np.round(recorded.edges_s * RATE).astype(np.int64)
    assert recorded.mark_first
    return ticks - ticks[0], np.asarray(recorded.mark_after, bool), recorded


@given(
    cuts=st.lists(st.integers(0, 4000), max_size=12),
    write=st.sampled_from([as_text, as_short]),
    seed=st.integers(0, 99),
)
@budget(max_examples=40, deadline=None)
def test_however_it_is_cut_it_tells_the_same(cuts, write, seed):
    rng = np.random.default_rng(seed)
    ticks = np.cumsum(rng.integers(1, 10 ** rng.integers(1, 9, 60)))
    levels = np.arange(60) % 2 == 1
    data, stamps, told = write(ticks, levels), Stamps("made-up"), []
    for begin, end in zip([0, *sorted(cuts)], [*sorted(cuts), len(data)], strict=True):
        told += stamps.feed(data[begin:end])
    assert [each.at_s for each in told] == pytest.approx((ticks - ticks[0]) / RATE, abs=1e-12)
    assert [each.high for each in told] == list(levels)
    assert stamps.u_s == pytest.approx(1e-6 / 12**0.5)


def told_of(lines, head=HEAD):
    return Stamps("x").feed((head + "begin\n" + lines).encode())


def test_a_counter_that_begins_anew_and_a_clock_that_goes_back():
    wrapped = told_of("4294967290 0\n10 1\n", HEAD + "wrap 4294967296\n")
    assert wrapped[1].at_s == pytest.approx(16e-6)
    stamps = Stamps("x")
    told = stamps.feed((HEAD + "begin\n5000 0\n4000 1\n6000 0\n7000 1\n").encode())
    assert [(each.kind, each.at_s) for each in told] == [("edge", 0.0), ("gap", 1e-3), ("edge", 2e-3)]
    assert stamps.suspicions[0].suspicion == "a clock that goes back"


def test_garbled_lines_make_a_gap_and_are_counted():
    stamps = Stamps("x")
    lines = b"begin\n0 0\n\xff\xfe!!\n12 x\n. 4000\n5000 1\n6000 0\nlost 3 9000\ngap 12000 1\n"
    told = stamps.feed(HEAD.encode() + lines)
    assert [(each.kind, round(1e6 * each.at_s), each.high) for each in told] == [
        ("edge", 0, False), ("gap", 5000, True), ("edge", 6000, False), ("gap", 9000, None), ("gap", 12000, True),
    ]  # fmt: skip
    assert stamps.garbled == 2
    assert told[3].why == "3 edges were lost, it says"


@pytest.mark.parametrize("data", [
    b"hello\n",
    b"\x00" * 300,
    b"tapewright stamps 1\nlevel 1\nbegin\n",
    b"tapewright stamps 1\nrate nan\nlevel 1\nbegin\n",
    HEAD.encode() + b"wrap 3\nbegin\n",
    HEAD.encode() + b"begin binary\n" + b"\xff" * 40,
    HEAD.encode() + b"begin\n" + b"7" * 9000,
])
def test_what_is_none_is_refused(data):
    with pytest.raises(InputError, match="made-up"):
        Stamps("made-up").feed(data)


@given(st.binary(max_size=400), st.sampled_from(["begin\n", "begin binary\n"]))
@budget(max_examples=60, deadline=None)
def test_any_bytes_after_the_head(data, begin):
    try:
        told = Stamps("x").feed((HEAD + begin).encode() + data)
    except InputError:
        return
    assert all(a.at_s <= b.at_s for a, b in pairwise(told))


@pytest.mark.parametrize("write", [as_text, as_short])
def test_a_file_is_read_like_any_capture_and_live(write, machine, tmp_path, capsys):
    """Truth: the other author's. Live, from the file and from the wire are the same to what is stated."""
    ticks, levels, recorded = machine
    file = tmp_path / "stamps.txt"
    file.write_bytes(write(ticks, levels))
    run(["line", "read", str(file), "--json"])
    document = json.loads(capsys.readouterr().out)
    assert document["source"]["kind"] == "stamped edges"
    unit = document["speed"]["unit_ms"]
    assert unit["value"] == pytest.approx(recorded.truth.drive.unit_ms, abs=5 * unit["u"] + 1e-3)
    run(["line", "watch", "--from", f"stamps:{file}", "--nominal", str(document["speed"]["nominal_baud"]), "--json"])
    live = json.loads(capsys.readouterr().out.splitlines()[-1])["result"]
    assert live["text"] == document["text"]
    assert live["contacts"] == document["contacts"]


def test_what_a_file_does_not_know_is_missing(tmp_path):
    file = tmp_path / "gap.txt"
    file.write_bytes((HEAD + "begin\n0 0\n10000 1\ngap 50000 0\n60000 1\n. 90000\n").encode())
    (recording,) = stamps_file.read(file, Options())
    assert recording.edges.missing.tolist() == [[0.01, 0.05]]
    assert recording.edges.end_s == pytest.approx(0.09)
    assert recording.edges.times_s[-1] == pytest.approx(0.06)
    file.write_bytes(HEAD.encode())
    with pytest.raises(InputError, match="head"):
        stamps_file.read(file, Options())


def all_of(source):
    edges, gaps = [], []
    for piece in source.pieces():
        if isinstance(piece, EdgePiece):
            edges += piece.times_s.tolist()
        elif isinstance(piece, GapPiece):
            gaps.append(piece.seconds)
    return edges, gaps


@pytest.mark.parametrize("who_calls", ["we", "they"])
def test_over_a_network(machine, who_calls):
    ticks, levels, _ = machine
    data = as_text(ticks[:50], levels[:50])
    server = socket.create_server(("127.0.0.1", 0))
    port = server.getsockname()[1]

    def send():
        line = server.accept()[0] if who_calls == "we" else wait_for(port)
        with line:
            for k in range(0, len(data), 37):
                line.sendall(data[k : k + 37])

    if who_calls == "they":
        server.close()
    sending = threading.Thread(target=send)
    sending.start()
    source = open_source(Asked(where=f"tcp://127.0.0.1:{port}" if who_calls == "we" else f"tcp://:{port}"))
    edges, gaps = all_of(source)
    sending.join()
    source.close()
    server.close()
    assert edges == pytest.approx(ticks[:50] / RATE)
    assert not gaps


def wait_for(port):
    while True:
        try:
            return socket.create_connection(("127.0.0.1", port), timeout=5)
        except OSError:
            threading.Event().wait(0.05)


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="needs a pseudo-terminal")
def test_over_a_serial_port():
    import tty

    master, slave = os.openpty()
    tty.setraw(slave)
    threading.Timer(0.3, os.write, (master, as_text([5, 2000, 4000], [0, 1, 0]) + b"junk\n. 5000\n7000 1\n")).start()
    source = open_source(Asked(where=os.ttyname(slave)))
    edges, gaps = [], []
    for piece in source.pieces():
        edges += piece.times_s.tolist() if isinstance(piece, EdgePiece) else []
        gaps += [piece.seconds] if isinstance(piece, GapPiece) else []
        if gaps:
            break
    source.close()
    os.close(master)
    assert edges == pytest.approx([0.0, 1995e-6, 3995e-6])
    assert gaps == [pytest.approx(3e-3)]
    assert source.suspicions[0].suspicion == "garbled stamps"


def test_nothing_whole_and_nobody_there(monkeypatch):
    class Silent:
        def read(self, most):
            return b""

        def close(self): ...

    monkeypatch.setattr("tapewright.recordings.live.stamped.HEAD_S", 0.05)
    with pytest.raises(InputError, match="nothing whole"):
        StampedSource(Silent(), "made-up")
    with pytest.raises(InputError, match="stream of stamped edges"):
        open_source(Asked(where="tcp://127.0.0.1:9"))
    with pytest.raises(WrongUseError, match="HOST:PORT"):
        open_source(Asked(where="tcp://skerry"))
