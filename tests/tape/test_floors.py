"""What is promised, over pictures drawn and spoilt by other code (tests/tape_pictures): codes, faults, lengths.

Each strip is some 85 rows at 150 to 300 dpi, at any angle, bent, in perspective, shaded, dirty, written on,
compressed; holes darker or lighter than paper, back-lit, coloured. Strips differ by their seed alone.
"""

from dataclasses import dataclass

import numpy as np
import pytest

from tape_pictures import drawn_tape
from tape_pictures.drawn_tape import Look, draw
from tapewright.alphabets import ITA2, encode
from tapewright.pictures.picture import Picture
from tapewright.tape.document import HoleState
from tapewright.tape.measure import read_tape
from tapewright.tape.settings import TapeSettings

WORDS = [
    "THE", "SHIP", "LEAVES", "HARBOUR", "AT", "NOON", "WITH", "COAL", "FOR", "NORTHERN", "PORTS", "PLEASE", "CONFIRM",
    "RECEIPT", "OF", "YOUR", "ORDER", "1234", "DATED", "12.5.58", "QUICK", "BROWN", "FOX", "JUMPS", "OVER", "LAZY",
    "DOG", "WEATHER", "GOOD", "VISIBILITY", "MODERATE",
]  # fmt: skip
LIGHTS = (
    {"paper": (225,) * 3, "hole": (40,) * 3, "ground": (40,) * 3},
    {"paper": (190,) * 3, "hole": (248,) * 3, "ground": (248,) * 3},
    {"paper": (110,) * 3, "hole": (250,) * 3, "ground": (20,) * 3},
    {"paper": (230,) * 3, "hole": (120,) * 3, "ground": (245,) * 3},
    {"paper": (120, 200, 235), "hole": (60, 50, 40), "ground": (245,) * 3, "grey": False},
)
STATE = {"absent": HoleState.ABSENT, "half": HoleState.PARTIAL, "flap": HoleState.PARTIAL, "chad": HoleState.PARTIAL}


@dataclass
class Count:
    rows: int = 0
    missing_rows: int = 0
    wrong_codes: int = 0
    wrong_pose: int = 0
    holes: int = 0
    faults: int = 0
    faults_missed: int = 0
    false_alarms: int = 0
    doubtful: int = 0  # specks that may be a place hardly open: named, not called a fault


def message(rng):
    words = " ".join(rng.choice(WORDS, 20))[:80]
    return encode(words[:40] + "\r\n" + words[40:], ITA2)


def spoilt_look(seed, *, dirt=100, strokes=2):
    rng = np.random.default_rng(seed)
    bent = rng.integers(2)
    return rng, Look(
        dpi=float(rng.choice([150, 150, 200, 300])), angle=float(rng.uniform(-180, 180)),
        turned=bool(rng.integers(2)), mirrored=bool(rng.integers(2)), bend=float(bent * rng.uniform(-10, 10)),
        perspective=float((1 - bent) * rng.uniform(-0.1, 0.1)), shade=float(rng.uniform(0, 0.3)),
        noise=float(rng.uniform(1, 5)), blur=float(rng.uniform(0.4, 1.0)), dirt=int(rng.integers(0, dirt + 1)),
        strokes=int(rng.integers(0, strokes + 1)), jpeg=80 if rng.integers(2) else None, seed=seed,
        **LIGHTS[seed % len(LIGHTS)],
    )  # fmt: skip


def count(drawn, look, total):
    strips = read_tape(Picture(drawn.image)).strips
    z = drawn.row_xy @ [1, 1j]
    seen = set()
    for strip in strips:
        true = bool((z[-1] - z[0]).real < 0), look.mirrored
        total.wrong_pose += strip.direction_sure and (strip.turned, strip.mirrored) != true
        for row in strip.rows:
            n = int(np.argmin(np.abs(z - complex(row.x_px, row.y_px))))
            seen.add(n)
            total.rows += 1
            expected = ["1" if b == "1" and look.faults.get((n, k)) != "absent" else "0"
                        for k, b in enumerate(drawn.codes[n], start=1)]  # fmt: skip
            total.wrong_codes += row.code != "".join(expected)
            for k, hole in enumerate(row.holes, start=1):
                fault = look.faults.get((n, k))
                punched = drawn.codes[n][k - 1] == "1"
                total.holes += punched
                if fault:
                    total.faults += 1
                    total.faults_missed += hole.state is not STATE[fault]
                elif hole.state is HoleState.DOUBTFUL and not punched:
                    total.doubtful += 1
                    assert row.notes
                else:
                    total.false_alarms += hole.state is not (HoleState.CLEAN if punched else HoleState.ABSENT)
    total.missing_rows += len(drawn.codes) - len(seen)


@pytest.mark.slow
def test_no_wrong_code_in_two_thousand_spoilt_rows():
    total = Count()
    for seed in range(1000, 1024):
        rng, look = spoilt_look(seed)
        count(draw(message(rng), look), look, total)
    print(total)
    assert total.rows >= 1950
    assert total.wrong_codes == 0
    assert total.wrong_pose == 0
    assert total.missing_rows <= 0.01 * total.rows


@pytest.mark.slow
def test_faults_are_found_and_none_are_made_up():
    total = Count()
    for seed in range(2000, 2024):
        rng, look = spoilt_look(seed, dirt=40, strokes=0)
        codes = message(rng)
        holes = [(n, k) for n, code in enumerate(codes) for k in range(1, 6) if code[k - 1] == "1"]
        look.faults = {hole: str(rng.choice(list(STATE))) for hole in holes if rng.random() < 0.08}
        count(draw(codes, look), look, total)
    print(total)
    assert total.faults >= 250
    assert total.faults_missed <= 0.02 * total.faults
    assert total.false_alarms <= total.holes / 2000
    assert total.doubtful <= 0.01 * total.rows


@pytest.mark.parametrize("seed", [7008, 7010])
def test_a_code_spoilt_by_a_stroke_over_a_half_cut_hole_is_suspected(seed):
    rng, look = spoilt_look(seed, dirt=60, strokes=0)
    look.strokes = 8
    codes = message(rng)
    holes = [(n, k) for n, code in enumerate(codes) for k in range(1, 6) if code[k - 1] == "1"]
    look.faults = {hole: str(rng.choice(["half", "flap", "chad"])) for hole in holes if rng.random() < 0.15}
    drawn = draw(codes, look)
    (strip,) = read_tape(Picture(drawn.image)).strips
    z = drawn.row_xy @ [1, 1j]
    wrong = [row for row in strip.rows if row.code != codes[int(np.argmin(np.abs(z - complex(row.x_px, row.y_px))))]]
    assert wrong
    assert all(row.notes for row in wrong)
    assert any("hide a hole" in note for note in strip.notes)


def test_specks_and_writing_on_clear_paper_name_few_rows():
    rows = noted = 0
    for seed, dirt, strokes in ((7100, 400, 0), (7101, 400, 0), (7102, 400, 8), (7103, 100, 8)):
        rng, look = spoilt_look(seed)
        look.dirt, look.strokes = dirt, strokes
        for strip in read_tape(Picture(draw(message(rng), look).image)).strips:
            rows, noted = rows + len(strip.rows), noted + sum("mark" in n for row in strip.rows for n in row.notes)
    print(rows, noted)
    assert rows > 300
    assert noted <= 0.04 * rows


def test_the_guide_offset_is_that_of_the_tape(monkeypatch):
    monkeypatch.setattr(drawn_tape, "TOP", -7.80)
    monkeypatch.setattr(drawn_tape, "BOTTOM", 9.66)
    drawn = draw(encode("THE QUICK BROWN FOX JUMPS OVER", ITA2), Look(dpi=300, angle=3))
    reading = read_tape(Picture(drawn.image), TapeSettings(dpi=300))
    (strip,) = reading.strips
    assert strip.guide.off_mm.value == pytest.approx(0.30, abs=2 * strip.guide.off_mm.u)
    assert strip.guide.width_mm.value == pytest.approx(17.46, abs=2 * strip.guide.width_mm.u)
    (verdict,) = [v for v in reading.verdicts if "three-hole edge" in v.limit.check]
    assert verdict.state.value == "outside"
    assert any("three-hole edge" in finding.text for finding in strip.findings)


def test_lengths_lie_within_their_stated_doubt():
    """Pitch, diameters, offsets across: about 95 % of truths within 2u; the resolution is known here."""
    inside = []
    codes = encode("THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 1234567890", ITA2)
    for seed in range(8):
        rng = np.random.default_rng(seed)
        steps = 2.54 * (1 + rng.normal(0, 0.003)) + 0.01 * rng.standard_normal(len(codes) - 1)
        x = np.concatenate([[0], np.cumsum(steps)])
        code_mm, feed_mm = 1.83 + rng.normal(0, 0.03), 1.17 + rng.normal(0, 0.02)
        offset = {k: tuple(rng.normal(0, 0.04, 2)) for k in range(1, 6)}
        look = Look(
            dpi=300, angle=float(rng.uniform(-180, 180)), shade=float(rng.uniform(0, 0.3)), x=list(x), seed=seed,
            jpeg=80 if seed % 2 else None, code_diameter=code_mm, feed_diameter=feed_mm, offset=offset,
        )  # fmt: skip
        drawn = draw(codes, look)
        (strip,) = read_tape(Picture(drawn.image), TapeSettings(dpi=300)).strips
        assert list(strip.codes) == codes
        slope = float(np.polyfit(np.arange(x.size), x, 1)[0])
        assert strip.feed.pitch_mm.value == pytest.approx(slope, rel=5e-4)
        pairs = [(strip.feed.pitch_mm, slope), (strip.feed.diameter_mm, feed_mm)]
        rows = np.arange(x.size)
        line, over = x - np.polyval(np.polyfit(rows, x, 1), rows), x[50:] - x[:-50] - 127.0
        pairs += [(strip.feed.worst_cumulative_mm, line[strip.feed.worst_row])]
        pairs += [(strip.feed.over_50_mm, over[strip.feed.over_50_row])]
        pairs += [(strip.guide.width_mm, 17.46), (strip.guide.off_mm, 0.0)]
        pairs += [(strip.guide.feed_to_three_hole_edge_mm, 9.96)]
        for track in strip.tracks:
            pairs += [(track.diameter_mm, code_mm), (track.across_mm, offset[track.track][1])]
            assert track.diameter_mm.value == pytest.approx(code_mm, abs=0.04)
        inside += [abs(reading.value - truth) <= 2 * reading.u for reading, truth in pairs]
        holes = [(row.row, hole) for row in strip.rows for hole in row.holes if hole.diameter_mm is not None]
        off = [np.hypot(*(drawn.hole_xy[n, hole.track - 1] - (hole.x_px, hole.y_px))) for n, hole in holes]
        assert max(off) * 25.4 / 300 < 0.02
    assert np.mean(inside) > 0.93
