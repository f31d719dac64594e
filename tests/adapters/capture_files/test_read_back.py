"""Files written by independent libraries come back as the edges that were put in."""

import numpy as np
import pytest
import soundfile

from tapewright.adapters.capture_files.read import read_recordings
from tapewright.errors import InputError

RATE_HZ = 20_000
#: instants in seconds, made up; the line idles high and begins to fall at the first
EDGES_S = np.array([0.0503, 0.0723, 0.0941, 0.1602, 0.1605, 0.1609, 0.2047, 0.2267, 0.2706, 0.3587])
COUNT = 8000


def levels(rate_hz=RATE_HZ, count=COUNT):
    times = np.arange(count) / rate_hz
    return times, 1 - np.searchsorted(EDGES_S, times, side="right") % 2


def check(recording, *, tolerance_s, starts_high=True):
    edges = recording.edges
    assert edges.times_s == pytest.approx(EDGES_S, abs=tolerance_s)
    assert edges.starts_high is starts_high
    assert edges.level_after.tolist() == [bool(i % 2) is starts_high for i in range(EDGES_S.size)]
    assert (edges.u_s < tolerance_s).all()


@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE"])
@pytest.mark.parametrize("container", ["WAV", "WAVEX", "RF64"])
def test_wav_written_by_soundfile(tmp_path, subtype, container):
    _, line = levels(44_100, 20_000)
    path = tmp_path / "a.bin"
    stereo = np.column_stack([line * 0.8 - 0.4, 0.4 - line * 0.8])
    soundfile.write(path, stereo, 44_100, subtype=subtype, format=container)
    left, right = read_recordings(path)
    check(left, tolerance_s=0.6 / 44_100)
    check(right, tolerance_s=0.6 / 44_100, starts_high=False)
    assert (left.rate_hz, left.samples, left.channels) == (44_100, 20_000, ("left", "right"))


def test_npy_of_samples_needs_a_rate(tmp_path):
    np.save(tmp_path / "a.npy", levels()[1].astype(np.uint8))
    with pytest.raises(InputError, match="--rate"):
        read_recordings(tmp_path / "a.npy")
    check(read_recordings(tmp_path / "a.npy", rate_hz=RATE_HZ)[0], tolerance_s=0.6 / RATE_HZ)


@pytest.mark.parametrize("order", ["C", "F"])
@pytest.mark.parametrize("kind", [np.float32, np.int16, ">f8", bool])
def test_npy_of_channels(tmp_path, order, kind):
    line = levels()[1]
    table = np.array(np.column_stack([line, 1 - line]), order=order).astype(kind, order="K")
    np.save(tmp_path / "a.npy", table)
    first, second = read_recordings(tmp_path / "a.npy", rate_hz=RATE_HZ)
    check(first, tolerance_s=0.6 / RATE_HZ)
    check(second, tolerance_s=0.6 / RATE_HZ, starts_high=False)


def test_channel_by_number_and_name(tmp_path):
    line = levels()[1]
    soundfile.write(tmp_path / "a.wav", np.column_stack([line * 0.0, line * 0.8]), RATE_HZ)
    for wanted in ("2", "right", "RIGHT"):
        (only,) = read_recordings(tmp_path / "a.wav", channel=wanted)
        assert only.channel == "right"
        check(only, tolerance_s=0.6 / RATE_HZ)
    with pytest.raises(InputError, match="1 = left, 2 = right"):
        read_recordings(tmp_path / "a.wav", channel="middle")
