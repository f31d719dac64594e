"""Read back what general drawing calls have drawn (tests/tape_pictures, apart from the program and its simulator)."""

import numpy as np
import pytest

from tape_pictures.drawn_tape import Look, draw
from tapewright.core.alphabets import ITA2, encode
from tapewright.core.tape.picture import Picture
from tapewright.core.tape.read import read_tape

TEXT = "THE QUICK BROWN FOX 123\r\nJUMPS OVER THE LAZY DOG"
CODES = encode(TEXT, ITA2)
WHITE, BUFF, BLACK = (250,) * 3, (205,) * 3, (25,) * 3

LOOKS = {
    "100 dpi": {"dpi": 100},
    "150 dpi, any angle, compressed": {"dpi": 150, "angle": 33, "jpeg": 80},
    "300 dpi, upright": {"dpi": 300, "angle": 91},
    "600 dpi, holes lighter": {"dpi": 600, "angle": 3, "hole": WHITE, "ground": WHITE, "paper": BUFF},
    "1200 dpi, bent": {"dpi": 1200, "bend": 6},
    "back-lit": {"dpi": 200, "hole": WHITE, "ground": BLACK, "paper": (120,) * 3},
    "slanted and shaded": {"dpi": 200, "angle": 12, "perspective": 0.1, "shade": 0.3},
}


def read(drawn, dpi=None):
    reading = read_tape(Picture(drawn.image, dpi and (dpi, dpi)))
    assert reading is not None
    return reading


@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS.keys())
def test_codes_are_those_drawn(look):
    codes = CODES if look["dpi"] < 1000 else CODES[:20]
    (strip,) = read(draw(codes, Look(**look))).strips
    assert list(strip.codes) == codes
    assert strip.direction.sure


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("mirrored", [False, True])
def test_four_poses_are_told_apart(turned, mirrored):
    (strip,) = read(draw(CODES, Look(dpi=150, turned=turned, mirrored=mirrored))).strips
    assert list(strip.codes) == CODES
    assert (strip.turned, strip.mirrored) == (turned, mirrored)


def test_a_text_that_reads_both_ways_gives_both_readings():
    codes = encode("RYRYRYRYRYRY", ITA2)
    (strip,) = read(draw(codes, Look(dpi=150))).strips
    assert not strip.direction.sure
    assert {strip.codes, strip.other_codes} == {tuple(codes), tuple(codes[::-1])}


def test_places_and_sizes_are_those_drawn():
    drawn = draw(CODES, Look(dpi=300, angle=4, noise=2))
    reading = read(drawn, dpi=300)
    (strip,) = reading.strips
    feed = np.array([(row.x_px, row.y_px) for row in strip.rows])
    px = 300 / 25.4
    assert np.abs(feed - drawn.row_xy).max() < 0.02 * px
    for n, row in enumerate(strip.rows):
        for hole in row.holes:
            if hole.diameter_mm is not None:
                off = np.hypot(*(np.array([hole.x_px, hole.y_px]) - drawn.hole_xy[n, hole.track - 1]))
                assert off < 0.02 * px
                assert hole.diameter_mm == pytest.approx(1.83, abs=0.04)
    assert strip.feed.pitch_mm.value == pytest.approx(2.54, rel=5e-4)
