"""What the writers write the capture readers read: every format, the same changes at the same instants."""

import numpy as np
import pytest

from tapewright.alphabets import ITA2, encode
from tapewright.practice.instrument import Instrument
from tapewright.practice.keying import Keying
from tapewright.recordings.files.read import read_recordings
from tapewright.sender.compose import Sender, compose_signal
from tapewright.sender.files.formats import FORMATS, write_signal

CODES = encode("SKERRY POINT 45", ITA2)


def composed(contents, rate_hz, **instrument):
    sender = Sender(machine="petrel", bounce_ms={"all": 0.0}, scatter_percent=0.5)
    return compose_signal(CODES, sender, Keying(), Instrument(rate_hz, **instrument), contents, seed=3)


CASES = [(s, c) for s, form in FORMATS.items() for c in form.CONTENTS if s != ".wav"]


@pytest.mark.parametrize(("suffix", "contents"), CASES, ids=[s + "-" + c for s, c in CASES])
@pytest.mark.parametrize("inverted", [False, True])
def test_changes_come_back(suffix, contents, inverted, tmp_path):
    signal = composed(contents, 50_000.0, inverted=inverted)
    path = tmp_path / f"a{suffix}"
    write_signal(path, signal, lambda _: None)
    edges = read_recordings(path, rate_hz=50_000.0 if suffix == ".npy" else None)[0].edges
    line = signal.transmission.line
    assert edges.starts_high is not inverted
    assert (edges.level_after == (line.mark_after != inverted)).all()
    assert np.abs(edges.times_s - line.times_s).max() <= 1.01 / 50_000


@pytest.mark.parametrize("bits", [8, 16, 24, 32])
def test_sound_keeps_its_instants_between_samples(bits, tmp_path):
    signal = composed("volts", 44_100.0, mark_v=0.45, space_v=-0.45, full_scale_v=1.0, anti_alias=True, bits=bits)
    write_signal(tmp_path / "a.wav", signal, lambda _: None)
    edges = read_recordings(tmp_path / "a.wav")[0].edges
    line = signal.transmission.line
    assert (edges.level_after == line.mark_after).all()
    assert np.abs(edges.times_s - line.times_s).max() <= 0.25 / 44_100
