"""The suppressor as it is drawn: polarity, the blocking diode, plus at the top.

Truth: Kirchhoff's laws. With current on, the coil's upper end is at plus; on opening, its lower end rises above it.
"""

import xml.etree.ElementTree as ET

import pytest

from tapewright.coil.drive.drawing import circuit_lines, circuit_picture, parts_of
from tapewright.coil.drive.drive import Kind, Suppressor

PARTS = [
    Suppressor(), Suppressor(Kind.DIODE), Suppressor(Kind.DIODE_R, 470.0), Suppressor(Kind.ZENER, volts=68.0),
    Suppressor(Kind.ZENER, volts=150.0, across_contact=True), Suppressor(Kind.RC, 220.0, c_f=0.1e-6),
    Suppressor(Kind.RC, 220.0, c_f=0.1e-6, across_contact=True),
]  # fmt: skip


def conducts(parts, *, lower_is_higher):
    """Return whether a branch carries current; a diode does from its foot to its band, a zener in both directions."""
    up = lower_is_higher
    return all(part.name == "zener" or not part.band or (part.band == "up") is up for part in parts)


@pytest.mark.parametrize("part", PARTS, ids=str)
@pytest.mark.parametrize("high_side", [False, True])
def test_every_part_is_drawn_in_text_and_picture(part, high_side):
    text, picture = "\n".join(circuit_lines(part, high_side=high_side)), circuit_picture(part, high_side=high_side)
    ET.fromstring(picture)
    for each in parts_of(part):
        assert str(each) in text
        assert str(each) in picture
    assert text.index("+") < text.index("[coil]")
    assert (text.index("[switch]") < text.index("[coil]")) is high_side


@pytest.mark.parametrize("part", [p for p in PARTS if p.kind in (Kind.DIODE, Kind.DIODE_R, Kind.ZENER)], ids=str)
def test_it_blocks_while_current_is_on_and_takes_the_energy_on_opening(part):
    parts = parts_of(part)
    if not part.across_contact:
        assert conducts(parts, lower_is_higher=True)
        assert not conducts(parts, lower_is_higher=False)


def test_a_zener_across_the_coil_has_its_blocking_diode_and_looks_the_other_way():
    diode, zener = parts_of(Suppressor(Kind.ZENER, volts=68.0))
    assert (diode.name, diode.band, zener.band) == ("blocking diode", "up", "down")
    assert "blocking diode" in str(Suppressor(Kind.ZENER, volts=68.0))
