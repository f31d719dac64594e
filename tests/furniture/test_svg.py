"""The SVG writer, read back by a general XML library."""

import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapewright.furniture.plot import Axes, Drawing, nice_ticks

TEXT = st.text(st.characters(exclude_categories=("Cc", "Cs"), exclude_characters="\ufffe\uffff"))


@given(TEXT)
def test_any_text_stays_text(text):
    drawing = Drawing(100, 50, text)
    drawing.text(1, 2, text)
    root = ET.fromstring(drawing.svg())
    assert [(node.text or "") for node in root] == [text, text]


def test_lengths_are_millimetres_on_paper():
    root = ET.fromstring(Drawing(101.6, 17.46, "strip").svg())
    assert root.attrib["width"] == "101.6mm"
    assert root.attrib["viewBox"] == "0 0 101.6 17.46"


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e6))
def test_ticks_lie_inside_and_are_few(low, span):
    ticks = nice_ticks(low, low + span)
    assert len(ticks) <= 8
    assert all(low - 1e-6 * span <= tick <= low + span * (1 + 1e-6) for tick in ticks)


def test_data_lands_where_the_axes_say():
    axes = Axes(Drawing(100, 100, ""), 10, 10, 80, 40, (0, 2), (-1, 1))
    assert (axes.x(1), axes.y(0)) == pytest.approx((50, 30))
