"""Sound files of phones and field recorders, written by an independent library, against the same sound as WAV."""

import contextlib

import numpy as np
import pytest
import soundfile

from tapewright.errors import InputError
from tapewright.recordings.files.read import read_recordings

RATE_HZ = 16_000
#: a line that changes every 20 to 100 ms, made up
LINE = np.repeat(np.arange(60) % 2, np.random.default_rng(2).integers(320, 1600, 60)) * 0.8 - 0.4


def written(path, form, subtype=None):
    soundfile.write(path, np.column_stack([LINE, -LINE]), RATE_HZ, format=form, subtype=subtype)
    return path


@pytest.fixture(scope="module")
def as_wav(tmp_path_factory):
    return read_recordings(written(tmp_path_factory.mktemp("wav") / "a", "WAV", "PCM_16"))


def test_flac_is_what_wav_is(tmp_path, as_wav):
    found = read_recordings(written(tmp_path / "a", "FLAC", "PCM_16"))
    assert [each.channel for each in found] == ["left", "right"]
    for one, other in zip(found, as_wav, strict=True):
        assert one.edges.times_s == pytest.approx(other.edges.times_s, abs=1e-6)
        assert one.rate_hz == RATE_HZ
        assert not one.edges.suspicions


@pytest.mark.parametrize(("form", "subtype"), [("OGG", "VORBIS"), ("MP3", "MPEG_LAYER_III")])
def test_lossy_sound_is_read_and_said(tmp_path, as_wav, form, subtype):
    (found,) = read_recordings(written(tmp_path / "a", form, subtype), channel="left")
    assert "lossy coding" in [each.suspicion for each in found.edges.suspicions]
    assert found.edges.times_s.size == pytest.approx(as_wav[0].edges.times_s.size, abs=4)


@pytest.mark.parametrize("form", ["FLAC", "OGG", "MP3"])
def test_damage_is_refused_or_read(tmp_path, form):
    whole = written(tmp_path / "a", form).read_bytes()
    chance = np.random.default_rng(1)
    for _ in range(12):
        damaged = bytearray(whole)
        for at in chance.integers(4, len(whole), 6):
            damaged[at] = chance.integers(256)
        (tmp_path / "b").write_bytes(damaged[: chance.integers(20, len(whole))])
        with contextlib.suppress(InputError):
            assert read_recordings(tmp_path / "b")


def test_m4a_is_refused_with_what_to_do(tmp_path):
    (tmp_path / "a").write_bytes(b"\0\0\0\x20ftypM4A " + bytes(200))
    with pytest.raises(InputError, match="save it as WAV or FLAC"):
        read_recordings(tmp_path / "a")
