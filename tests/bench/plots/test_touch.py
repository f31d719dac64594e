"""Fingers on a tablet: two apart make the trace or the tape larger, one moves it, a tap chooses a hole.

Real touches, given to the browser by its own protocol; the page has to hold them against its own scrolling.
"""

import re

import pytest

from .conftest import until

TABLET = {"viewport": {"width": 1180, "height": 820}, "has_touch": True, "is_mobile": True}


class Fingers:
    """Fingers on a page; places are fractions of a box."""

    def __init__(self, page, box):
        self.send = page.context.new_cdp_session(page).send
        self.page, self.box = page, page.locator(box)
        self.box.scroll_into_view_if_needed()

    def touch(self, kind, places):
        frame = self.box.bounding_box()
        points = [{"x": frame["x"] + x * frame["width"], "y": frame["y"] + y * frame["height"], "id": n}
                  for n, (x, y) in enumerate(places)]  # fmt: skip
        self.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    def move(self, begin, end, steps=8):
        self.touch("touchStart", begin)
        for step in range(1, steps + 1):
            share = step / steps
            self.touch("touchMove", [(a + (c - a) * share, b + (d - b) * share)
                                     for (a, b), (c, d) in zip(begin, end, strict=True)])  # fmt: skip
            self.page.wait_for_timeout(20)
        self.touch("touchEnd", [])
        self.page.wait_for_timeout(900)  # the page says where it is when the fingers rest


def span(page):
    """The stretch of time that is shown, as the page says it."""
    begin, end = (float(s) for s in re.findall(r"[\d.]+(?= s)", page.inner_text("#trace-says"))[:2])
    return begin, end


@pytest.mark.slow
def test_fingers_on_the_trace(look, line):
    page = look(line, **TABLET)
    until(page, "() => document.getElementById('trace-box').dataset.drawn > 0")
    fingers = Fingers(page, "#trace-box")
    page.locator("#trace-box").press("ArrowRight")  # the page says what is shown once somebody has moved in it
    until(page, "() => / s/.test(document.getElementById('trace-says').textContent)")
    begin, end = span(page)
    fingers.move([(0.4, 0.5), (0.6, 0.55)], [(0.2, 0.5), (0.8, 0.55)])
    closer = span(page)
    assert closer[1] - closer[0] < 0.5 * (end - begin), "two fingers apart: closer"
    fingers.move([(0.6, 0.5)], [(0.35, 0.5)])
    moved = span(page)
    assert moved[0] > closer[0], "one finger to the left: later"
    assert moved[1] - moved[0] == pytest.approx(closer[1] - closer[0], rel=0.05)
    fingers.move([(0.2, 0.5), (0.8, 0.5)], [(0.4, 0.5), (0.6, 0.5)])
    wider = span(page)
    assert wider[1] - wider[0] > 1.5 * (moved[1] - moved[0]), "two fingers together: farther"
    assert page.evaluate("visualViewport.scale") == 1, "the page itself stays as large as it was"


@pytest.mark.slow
def test_a_tap_chooses_a_hole_and_fingers_move_the_tape(look, tape):
    page = look(tape, **TABLET)
    until(page, "() => document.getElementById('tape-box').dataset.drawn > 0")
    fingers = Fingers(page, "#tape-box")
    tapped = False
    for n in range(3, 28):  # some place of the strip has a hole under it
        fingers.touch("touchStart", [(n / 30, 0.5)])
        fingers.touch("touchEnd", [])
        page.wait_for_timeout(60)
        tapped = page.inner_text("#hole-title") != "No hole chosen"
        if tapped:
            break
    assert tapped, "no tap chose a hole"
    chosen = page.inner_text("#hole-title")
    fingers.move([(0.45, 0.5), (0.55, 0.5)], [(0.25, 0.4), (0.75, 0.6)])
    assert page.inner_text("#hole-title") == chosen, "two fingers choose nothing"
    fingers.move([(0.6, 0.5)], [(0.4, 0.5)])
    assert page.inner_text("#hole-title") == chosen, "a finger that moves chooses nothing"
    assert page.evaluate("visualViewport.scale") == 1, "the page itself stays as large as it was"
