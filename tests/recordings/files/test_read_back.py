"""Files written by independent libraries come back as the edges that were put in."""

import numpy as np
import pytest
import soundfile

from tapewright.errors import InputError
from tapewright.recordings.files.read import read_recordings

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


def test_npz_with_its_rate_or_times(tmp_path):
    times, line = levels()
    for facts in ({"rate_hz": RATE_HZ}, {"dt": np.float64(1 / RATE_HZ)}, {"fs": np.array([RATE_HZ])}, {"t": times}):
        np.savez_compressed(tmp_path / "a.npz", line=line.astype(np.uint8), **facts)
        (only,) = read_recordings(tmp_path / "a.npz")
        assert only.channel == "line"
        check(only, tolerance_s=0.6 / RATE_HZ)


def test_npz_of_changes(tmp_path):
    np.savez(tmp_path / "a.npz", times_s=EDGES_S, level=np.arange(EDGES_S.size) % 2)
    check(read_recordings(tmp_path / "a.npz")[0], tolerance_s=1e-3)
    np.save(tmp_path / "b.npy", EDGES_S)
    check(read_recordings(tmp_path / "b.npy")[0], tolerance_s=1e-3)


@pytest.mark.parametrize("layout", ["(n,2)", "(2,n)", "F", "structured"])
def test_npy_of_times_and_volts(tmp_path, layout):
    times, line = levels()
    if layout == "structured":
        table = np.zeros(times.size, [("time", "f8"), ("volts", "f4")])
        table["time"], table["volts"] = times, line * 3.3
    else:
        table = np.column_stack([times, line * 3.3])
        table = {"(n,2)": table, "(2,n)": table.T.copy(), "F": np.asfortranarray(table)}[layout]
    np.save(tmp_path / "a.npy", table)
    check(read_recordings(tmp_path / "a.npy")[0], tolerance_s=0.6 / RATE_HZ)


@pytest.mark.parametrize("order", ["big", "little"])
def test_bit_packed_logic_one_channel(tmp_path, order):
    line = levels()[1].astype(np.uint8)
    np.packbits(line, bitorder=order).tofile(tmp_path / "a.raw")
    check(read_recordings(tmp_path / "a.raw", rate_hz=RATE_HZ)[0], tolerance_s=0.6 / RATE_HZ)


@pytest.mark.parametrize("high", [1, 255])
def test_raw_logic_a_byte_a_sample(tmp_path, high):
    (levels()[1] * high).astype(np.uint8).tofile(tmp_path / "a.raw")
    check(read_recordings(tmp_path / "a.raw", rate_hz=RATE_HZ)[0], tolerance_s=0.6 / RATE_HZ)


def test_raw_eight_channels_side_by_side(tmp_path):
    line = levels()[1].astype(np.uint8)
    other = (np.arange(line.size) // 700 % 2).astype(np.uint8)
    (0x20 | line << 3 | other << 1).tofile(tmp_path / "a.raw")
    found = read_recordings(tmp_path / "a.raw", rate_hz=RATE_HZ)
    assert len(found) == 8
    check(found[3], tolerance_s=0.6 / RATE_HZ)
    assert found[1].edges.times_s.size == 11
    check(read_recordings(tmp_path / "a.raw", rate_hz=RATE_HZ, channel="4")[0], tolerance_s=0.6 / RATE_HZ)


def test_raw_converter(tmp_path):
    noise = np.random.default_rng(2).normal(0, 2, COUNT)
    np.clip(levels()[1] * 150 + 50 + noise, 0, 255).astype(np.uint8).tofile(tmp_path / "a.raw")
    (only,) = read_recordings(tmp_path / "a.raw", rate_hz=RATE_HZ)
    check(only, tolerance_s=0.6 / RATE_HZ)
    assert "converter" in only.kind


def test_raw_without_rate_says_what_was_tried(tmp_path):
    (tmp_path / "a.raw").write_bytes(bytes([0, 1, 1, 0] * 1000))
    with pytest.raises(InputError, match=r"wav, sound, npy, npz, stamps, vcd, csv, raw.*--rate"):
        read_recordings(tmp_path / "a.raw")


def test_wav_that_was_cut_short_says_so(tmp_path):
    soundfile.write(tmp_path / "a.wav", levels(44_100, 30_000)[1] * 0.5, 44_100)
    whole = (tmp_path / "a.wav").read_bytes()
    (tmp_path / "b.wav").write_bytes(whole[:-20_001])
    (only,) = read_recordings(tmp_path / "b.wav")
    assert only.samples == 30_000 - 10_001
    assert [each.suspicion for each in only.edges.suspicions] == ["recording cut short"]
