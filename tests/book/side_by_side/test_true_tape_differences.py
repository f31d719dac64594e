"""Two tapes of simulated punches, scanned and read: true differences lie within 2u, with one scanner and with two.

A scanner's resolution is up to half a per cent off what it says; with one scanner that goes out of the difference.
"""

import numpy as np
import pytest

from tapewright.alphabets import ITA2, encode
from tapewright.book.side_by_side.side_by_side import Pair, lay_side_by_side
from tapewright.pictures.picture import Picture
from tapewright.practice.punch import FeedDrive, Pin, Punch, punch_tape
from tapewright.practice.scanner import Scanner, scan_tape
from tapewright.tape.measure import read_tape
from tapewright.tape.read import document
from tapewright.tape.settings import TapeSettings

CODES = encode("THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 1234567890", ITA2)
TAPES = 5


def drawn_tape(generator, resolution_off):
    """Return the document of a tape and what is true of its punch."""
    pins = tuple(
        Pin(1.83 + generator.normal(0, 0.03), generator.normal(0, 0.04), generator.normal(0, 0.04)) for _ in range(5)
    )
    punch = Punch(pins=pins, feed=FeedDrive(scatter_mm=0.01), feed_hole_mm=1.17 + generator.normal(0, 0.02))
    tape = punch_tape(CODES, punch, generator, leader=6)
    scanner = Scanner(dpi=300 * (1 + resolution_off), angle_deg=float(generator.uniform(-20, 20)))
    scan = scan_tape(tape, scanner, generator)
    reading = read_tape(Picture(scan.pixels, (300.0, 300.0)), TapeSettings())
    return document(reading), truth_of(punch)


def truth_of(punch):
    holes = np.array([sum(code[k] == "1" for code in CODES) for k in range(5)])
    middle = float(holes @ [pin.along_mm for pin in punch.pins]) / holes.sum()
    truth = {"feed hole, diameter": punch.feed_hole_mm}
    for k, pin in enumerate(punch.pins, start=1):
        truth[f"track {k}, diameter"] = pin.diameter_mm
        truth[f"track {k}, place along the tape"] = pin.along_mm - middle
        truth[f"track {k}, place across the tape"] = pin.across_mm
    return truth


@pytest.mark.slow
@pytest.mark.parametrize("one_instrument", [True, False])
def test_true_differences_of_tapes_lie_within_2u(one_instrument):
    generator = np.random.default_rng(5 + one_instrument)
    off = generator.uniform(-0.005, 0.005)
    seen = []
    for _ in range(TAPES):
        off = off if one_instrument else generator.uniform(-0.005, 0.005)
        seen.append(drawn_tape(generator, off))
    inside = []
    for (a, truth_a), (b, truth_b) in zip(seen, seen[1:] + seen[:1], strict=True):
        rows = {row.figure.what: row for row in lay_side_by_side([Pair("tape", a, b, one_instrument)]).rows}
        for what, true in truth_a.items():
            d = rows[what].difference
            inside.append(abs(d.value - (truth_b[what] - true)) <= 2 * d.u)
    assert len(inside) == 16 * TAPES
    assert np.mean(inside) >= 0.92
