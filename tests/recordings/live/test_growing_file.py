"""A file that grows and a pipe: any bytes are samples or a clear no; what is added later is seen."""

import io
import os
import threading
import time

import numpy as np
import pytest
import soundfile  # an independent writer of WAV
from hypothesis import given
from hypothesis import strategies as st

from tapewright.errors import InputError, WrongUseError
from tapewright.recordings.live.asked import Asked
from tapewright.recordings.live.growing_file import open_source, read_head

HEAD = b"RIFF\x24\x00\x00\x00WAVE"


@given(st.one_of(st.binary(max_size=80), st.binary(max_size=80).map(lambda rest: HEAD + rest),
                 st.binary(max_size=60).map(lambda rest: HEAD + b"fmt \x10\x00\x00\x00" + rest)))  # fmt: skip
def test_any_bytes_are_a_head_or_a_clear_no(data):
    file = io.BytesIO(data)
    try:
        layout, _ = read_head(file.read, "stream")
    except InputError:
        return
    assert layout.rate_hz > 0
    assert layout.channels >= 1


@pytest.mark.parametrize("kind", ["PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE"])
def test_every_kind_of_wav_comes_sample_by_sample(kind, tmp_path):
    path = tmp_path / "two.wav"
    left, right = np.linspace(-0.5, 0.5, 3001), np.linspace(0.9, -0.9, 3001)
    soundfile.write(path, np.column_stack([left, right]), 8000, subtype=kind)
    source = open_source(Asked(where=str(path), channel=2))
    got = np.concatenate([piece.samples for piece in source.pieces()]).astype(float)
    source.close()
    assert got.size == 3001
    # the same line whatever its units
    assert np.corrcoef(got, right)[0, 1] == pytest.approx(1.0, abs=1e-3)
    assert source.rate_hz == 8000


def test_what_is_added_later_is_seen(tmp_path):
    path = tmp_path / "grows.raw"
    path.write_bytes(b"\x01" * 100)
    source = open_source(Asked(where=str(path), raw="u8", rate_hz=1000.0, follow=True))

    def add():
        time.sleep(0.1)
        with path.open("ab") as file:
            file.write(b"\x02" * 50)

    threading.Thread(target=add).start()
    got, until = [], time.monotonic() + 30
    for piece in source.pieces():
        got += piece.samples.tolist()
        if len(got) >= 150 or time.monotonic() > until:
            break
    source.close()
    assert got == [1] * 100 + [2] * 50


def test_a_named_pipe_waits_for_nobody(tmp_path):
    path = tmp_path / "line.pipe"
    os.mkfifo(path)
    source = open_source(Asked(where=str(path), raw="u8", rate_hz=1000.0))
    pieces = source.pieces()
    assert next(pieces).samples.size == 0, "nobody writes yet, and the keyboard is looked at"
    with path.open("wb", buffering=0) as writer:
        writer.write(b"\x01\x02")
        assert until_some(pieces) == [1, 2]
        assert next(pieces).samples.size == 0, "the writer is quiet"
        writer.write(b"\x03")
        assert until_some(pieces) == [3]
    assert list(pieces) == [], "the writer has gone"
    source.close()


def until_some(pieces):
    return next(piece.samples.tolist() for piece in pieces if piece.samples.size)


def test_a_quiet_pipe_on_the_standard_input_does_not_hold_the_keyboard(tmp_path, monkeypatch):
    reads, writes = os.pipe()
    with os.fdopen(reads, "rb") as file, os.fdopen(writes, "wb", buffering=0) as writer:
        monkeypatch.setattr("sys.stdin", io.TextIOWrapper(file))
        source = open_source(Asked(where="-", raw="s16", rate_hz=1000.0))
        pieces, begun = source.pieces(), time.monotonic()
        assert next(pieces).samples.size == 0
        assert time.monotonic() - begun < 5.0
        writer.write(b"\x01\x00\x02")
        assert until_some(pieces) == [1]
        writer.write(b"\x00")
        writer.close()
        assert [piece.samples.tolist() for piece in pieces if piece.samples.size] == [[2]]


def test_a_head_that_nobody_writes_is_waited_for_no_longer_than_told(tmp_path):
    path = tmp_path / "empty.wav"
    path.touch()
    with pytest.raises(InputError, match="head of a WAV"):
        open_source(Asked(where=str(path), follow=True, patience_s=0.05))


def test_raw_samples_need_their_rate(tmp_path):
    path = tmp_path / "x.raw"
    path.write_bytes(b"\x00")
    with pytest.raises(WrongUseError, match="--rate"):
        open_source(Asked(where=str(path), raw="u8"))
