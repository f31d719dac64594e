"""One fault, one finding: what several tracks have in common is said once, a pin that never punches is named."""

import cv2
import numpy as np
import pytest

from tape.test_witnesses import rendered
from tape_pictures.drawn_tape import Look, draw
from tapewright.alphabets import ITA2, encode
from tapewright.pictures.picture import Picture
from tapewright.tape.drawing import draw_tape
from tapewright.tape.measure import read_tape
from tapewright.tape.plot import tape_svg
from tapewright.tape.settings import TapeSettings

CODES = encode("THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG", ITA2)


def findings(codes=CODES, **look):
    (strip,) = read_tape(Picture(draw(codes, Look(dpi=300, **look)).image), TapeSettings(dpi=300)).strips
    return strip, " ".join(finding.text for finding in strip.findings)


def test_a_sound_tape_has_no_finding():
    strip, text = findings()
    assert text == ""
    assert list(strip.codes) == CODES


@pytest.mark.parametrize("dead", [1, 4])
def test_a_pin_that_never_punches_is_named(dead):
    codes = [code[: dead - 1] + "0" + code[dead:] for code in CODES]
    _, text = findings(codes)
    assert f"Track {dead} has no hole at all" in text


@pytest.mark.parametrize(("off", "word"), [((0.2, 0.0), "towards later rows"), ((0.0, -0.2), "towards track 1")])
def test_a_pin_off_its_place_is_named_with_its_way(off, word):
    _, text = findings(offset={2: off})
    assert "Track 2 stands" in text
    assert word in text


def test_holes_cut_in_part_in_every_track_are_one_finding():
    rng = np.random.default_rng(2)
    holes = [(n, k) for n, code in enumerate(CODES) for k in range(1, 6) if code[k - 1] == "1"]
    _, text = findings(faults={hole: "half" for hole in holes if rng.random() < 0.3})
    assert text.count("partial") == 1
    assert "what all pins share" in text


def test_a_small_pin_that_cuts_clean_is_not_called_weak(monkeypatch):
    """1.60 mm in one track, 1.83 mm in the others: small, and clean."""
    from tape_pictures import drawn_tape

    disc, small = drawn_tape._disc, {2.54 * drawn_tape.TRACKS[2]}

    def smaller(mask, x, y, diameter, *rest):
        disc(mask, x, y, 1.60 if any(abs(y - s) < 0.01 for s in small) else diameter, *rest)

    monkeypatch.setattr(drawn_tape, "_disc", smaller)
    strip, text = findings()
    assert [track.partial for track in strip.tracks] == [0] * 5
    assert strip.tracks[2].diameter_mm.value == pytest.approx(1.60, abs=0.04)
    assert "not cut clean" not in text


def test_strips_below_one_another_come_line_by_line():
    """Six strips, 1 mm apart: 18.46 mm from one feed row to the next."""
    texts = ["HARBOUR ONE", "HARBOUR TWO", "HARBOUR THREE", "HARBOUR FOUR", "HARBOUR FIVE", "HARBOUR SIX"]
    images = [draw(encode(text, ITA2), Look(dpi=200, margin=0.5, seed=n)).image for n, text in enumerate(texts)]
    wide = max(image.shape[1] for image in images)
    page = np.vstack([np.pad(i, ((0, 0), (0, wide - i.shape[1])), constant_values=40) for i in images])
    strips = read_tape(Picture(page), TapeSettings(dpi=200)).strips
    assert [strip.text for strip in strips] == texts


@pytest.mark.parametrize(("ground", "shadow"), [(40, 0.0), (245, 40.0), (245, 120.0)])
def test_a_shadow_along_the_edge_never_makes_a_verdict_outside(ground, shadow):
    """17.46 mm, and 9.96 mm from the feed line (reference notes, section 6)."""
    drawn = draw(CODES, Look(dpi=300, paper=(215,) * 3, ground=(ground,) * 3, hole=(60,) * 3, edge_shadow=shadow))
    tape = read_tape(Picture(drawn.image), TapeSettings(dpi=300))
    guide = tape.strips[0].guide
    assert abs(guide.width_mm.value - 17.46) < 2 * guide.width_mm.u
    assert abs(guide.feed_to_three_hole_edge_mm.value - 9.96) < 2 * guide.feed_to_three_hole_edge_mm.u
    edges = ("tape width", "feed line to the three-hole edge")
    assert "outside" not in [v.state.value for v in tape.verdicts if v.limit.check in edges]
    assert (guide.width_mm.u > 0.05) is (shadow > 0)


def test_the_programs_own_tape_printed_and_scanned_has_its_true_width():
    """Drawn at 1:1 with an outline 0.1 mm wide, printed on a white page; 17.46 mm (reference notes, section 6)."""
    page = rendered(tape_svg(draw_tape(CODES), "gauge"), ppi=300)
    page = cv2.GaussianBlur(np.pad(page, 60, constant_values=255), (0, 0), 0.8)
    tape = read_tape(Picture(page))
    width = tape.strips[0].guide.width_mm
    assert tape.scale.from_ == "track grid"
    assert abs(width.value - 17.46) < 2 * width.u < 0.3
