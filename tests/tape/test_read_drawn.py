"""Read back what general drawing calls have drawn (tests/tape_pictures, apart from the program and its simulator)."""

import cv2
import numpy as np
import pytest

from tape_pictures.drawn_tape import Look, draw
from tapewright.alphabets import ITA2, encode
from tapewright.pictures.picture import Picture
from tapewright.practice.punch import FeedDrive, Punch, punch_tape
from tapewright.practice.scanner import Scanner, scan_tape
from tapewright.tape.measure import read_tape

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
    return read_tape(Picture(drawn.image, dpi and (dpi, dpi)))


@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS.keys())
def test_codes_are_those_drawn(look):
    codes = CODES if look["dpi"] < 1000 else CODES[:20]
    (strip,) = read(draw(codes, Look(**look))).strips
    assert list(strip.codes) == codes
    assert strip.direction_sure


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("mirrored", [False, True])
def test_four_poses_are_told_apart(turned, mirrored):
    (strip,) = read(draw(CODES, Look(dpi=150, turned=turned, mirrored=mirrored))).strips
    assert list(strip.codes) == CODES
    assert (strip.turned, strip.mirrored) == (turned, mirrored)


@pytest.mark.parametrize("angle", [0, 33, -120])
def test_without_a_resolution_the_width_of_the_tape_is_the_scale(angle):
    """17.46 mm nominal (reference notes, section 6); the drawn tape is exactly that wide."""
    scale = read(draw(CODES, Look(dpi=200, angle=angle))).scale
    assert scale.from_ == "tape width"
    assert abs(scale.px_per_mm.value - 200 / 25.4) < 2 * scale.px_per_mm.u


def test_several_strips_each_have_their_own_pose():
    one, two = draw(CODES, Look(dpi=150)).image, draw(CODES[:30], Look(dpi=150, mirrored=True)).image
    two = np.pad(two, ((0, 0), (0, one.shape[1] - two.shape[1])), constant_values=40)
    strips = read_tape(Picture(np.vstack([one, two, one[::-1, ::-1]]))).strips
    assert [(s.turned, s.mirrored) for s in strips] == [(False, False), (False, True), (True, False)]
    assert [list(s.codes) for s in strips] == [CODES, CODES[:30], CODES]


@pytest.mark.parametrize("code", ["10000", "01000", "00100", "00010", "00001", "11111", "00000"])
def test_one_code_all_along_reads(code):
    (strip,) = read(draw([code] * 25, Look(dpi=200, angle=3))).strips
    assert [code] * 25 in (list(strip.codes), list(strip.other_reading.codes or ()), [c[::-1] for c in strip.codes])


def test_a_strip_that_runs_out_of_the_picture_gives_its_whole_rows():
    image = draw(CODES, Look(dpi=200, angle=15)).image
    (strip,) = read_tape(Picture(image[60:-50, 120:-110])).strips
    assert "".join(strip.codes) in "".join(CODES)
    assert len(strip.codes) > 0.6 * len(CODES)


def test_short_and_long_steps_are_named_by_their_rows():
    x = np.arange(len(CODES)) * 2.54
    x[12:] -= 0.6
    x[30:] += 0.9
    (strip,) = read(draw(CODES, Look(dpi=300, x=list(x)))).strips
    assert list(strip.codes) == CODES
    assert (strip.feed.short_rows, strip.feed.long_rows) == ((12,), (30,))


@pytest.mark.parametrize("moved_mm", [0.15, 0.5, 0.8, 1.2])
def test_two_codes_on_nearly_one_row_are_suspected_and_upset_no_other_row(moved_mm):
    x = 2.54 * np.arange(len(CODES))
    x[21:] -= 2.54 - moved_mm
    (strip,) = read(draw(CODES, Look(dpi=200, x=x.tolist()))).strips
    both = "".join("1" if "1" in pair else "0" for pair in zip(CODES[20], CODES[21], strict=True))
    assert list(strip.codes[:20]) == CODES[:20]
    assert list(strip.codes[21:]) == CODES[22:]
    assert strip.codes[20] == both or "mark" in " ".join(strip.rows[20].notes)
    assert "feed hole" in " ".join(strip.rows[20].notes)
    assert not any(row.notes for row in strip.rows if row.row != 20)


def test_feed_holes_pulled_oval_are_measured_with_their_side():
    rng = np.random.default_rng(3)
    punch = Punch(feed=FeedDrive(oval_mm=0.20, oval_behind=True))
    scan = scan_tape(punch_tape(CODES, punch, rng), Scanner(dpi=300), rng)
    (strip,) = read_tape(Picture(scan.pixels, (300.0, 300.0))).strips
    assert strip.feed.oval_mm.value == pytest.approx(0.20, abs=0.05)
    assert any("supply" in finding.text for finding in strip.findings)
    even = read(draw(CODES, Look(dpi=300)), dpi=300).strips[0].feed.oval_mm
    assert abs(even.value) < 2 * even.u


def test_an_axis_of_the_scanner_out_of_true_is_suspected():
    rng = np.random.default_rng(3)
    scan = scan_tape(punch_tape(CODES, Punch(), rng), Scanner(dpi=300, stretch=1.012), rng)
    reading = read_tape(Picture(scan.pixels, (300.0, 300.0)))
    assert any("one axis of the scanner" in note for note in reading.suspicions)
    assert read(draw(CODES, Look(dpi=300)), dpi=300).suspicions == ()


def test_a_block_out_of_square_is_named():
    rng = np.random.default_rng(3)
    scan = scan_tape(punch_tape(CODES, Punch(skew_mm=0.3), rng), Scanner(dpi=300), rng)
    (strip,) = read_tape(Picture(scan.pixels, (300.0, 300.0))).strips
    assert strip.feed.out_of_square_mm.value == pytest.approx(0.3, abs=0.02)
    assert any("out of square" in finding.text for finding in strip.findings)


def test_a_slanted_photo_of_a_square_tape_is_never_judged_out_of_square():
    """A shear of 3 in 100 shifts a row 0.3 mm across the tracks; without a resolution nothing tells it from a skew."""
    flat = draw(CODES, Look(dpi=300)).image
    shear = np.float32([[1, 0.03, 0], [0, 1, 0]])
    slanted = cv2.warpAffine(flat, shear, flat.shape[1::-1], borderMode=cv2.BORDER_REPLICATE)
    for dpi, state in ((None, "not shown"), ((300.0, 300.0), "outside")):
        reading = read_tape(Picture(slanted, dpi))
        (verdict,) = [v for v in reading.verdicts if "square" in v.limit.check]
        assert verdict.state.value == state


@pytest.mark.parametrize("perspective", [0.04, 0.1])
def test_a_slanted_photo_of_an_even_tape_is_never_judged_uneven(perspective):
    """A slant draws the far steps closer; added up over 50 rows that looks like many millimetres of bad feed."""
    (strip,) = read(draw(CODES * 2, Look(dpi=200, angle=12, perspective=perspective))).strips
    feed = strip.feed
    assert feed.over_50_mm.value is None
    assert feed.worst_cumulative_mm.value is None
    assert "slant" in feed.over_50_mm.how
    assert feed.scatter_mm.value < 0.03
    assert abs(feed.pitch_mm.value - 2.54) < 2 * feed.pitch_mm.u
    assert all(abs(t.diameter_mm.value - 1.83) < 2 * t.diameter_mm.u for t in strip.tracks)


def test_an_eccentric_wheel_shows_as_a_wave():
    codes = CODES * 2
    n = np.arange(len(codes))
    x = 2.54 * n + 0.06 * np.sin(2 * np.pi * n / 12)
    (strip,) = read(draw(codes, Look(dpi=200, x=list(x)))).strips
    assert (strip.feed.period_rows, strip.feed.period_kind) == (12, "wave")
    assert strip.feed.period_mm.value == pytest.approx(0.06, abs=0.01)


def test_a_text_that_reads_both_ways_gives_both_readings():
    codes = encode("RYRYRYRYRYRY", ITA2)
    (strip,) = read(draw(codes, Look(dpi=150))).strips
    assert not strip.direction_sure
    assert {strip.codes, strip.other_reading.codes} == {tuple(codes), tuple(codes[::-1])}


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
