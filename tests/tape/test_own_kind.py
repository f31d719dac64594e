"""Tape with more than five tracks is refused by their number, never read as five-unit garbage."""

import cv2
import numpy as np
import pytest

from tape.other_tapes import tape_picture
from tapewright.terminal.run import run

WORDS = {6: "six", 7: "seven", 8: "eight"}


def read(picture, tmp_path, capsys, dpi):
    file = tmp_path / "tape.png"
    cv2.imwrite(str(file), picture)
    code = run(["tape", "read", str(file), "--dpi", str(dpi)])
    return code, capsys.readouterr()


@pytest.mark.parametrize("tracks", WORDS)
@pytest.mark.parametrize(("dpi", "turned", "flipped", "ground", "share"), [
    (300, 0, False, 30, 0.5), (300, 1, True, 30, 0.5), (600, 2, False, 20, 0.5), (150, 0, True, 40, 0.5),
    (300, 3, False, 250, 0.5), (300, 0, False, 30, 0.2), (300, 0, False, 30, 0.8),
])  # fmt: skip
def test_another_tape_is_refused_by_its_tracks(tracks, dpi, turned, flipped, ground, share, tmp_path, capsys):
    picture = tape_picture(tracks, dpi=dpi, seed=tracks, turned=turned, flipped=flipped, ground=ground, share=share)
    code, said = read(picture, tmp_path, capsys, dpi)
    assert code == 4
    assert said.out == ""
    assert f"tape of {WORDS[tracks]} tracks" in said.err


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(("dpi", "share"), [(300, 0.5), (150, 0.5), (600, 0.9), (300, 1.0)])
def test_five_tracks_are_ours(seed, dpi, share, tmp_path, capsys):
    code, said = read(tape_picture(5, dpi=dpi, seed=seed, turned=seed, share=share), tmp_path, capsys, dpi)
    assert code in (0, 1, 3), said.err
    assert "40 rows" in said.out


def test_two_strips_side_by_side_are_ours(tmp_path, capsys):
    """Holes of the strip beside it are no further tracks, however near it lies."""
    for seed in range(5):
        one, other = tape_picture(5, seed=seed), tape_picture(5, seed=seed + 50)
        inner = round((8 - 0.5) * 300 / 25.4)
        code, said = read(np.vstack([one[:-inner], other[inner:]]), tmp_path, capsys, 300)
        assert code in (0, 1, 3), said.err
