"""Draw the parts that the tutorials speak of, as line drawings: `python scripts/docs_drawings.py`.

They show how such a part works, not how any one machine is built: no dimensions, no maker's shapes. The pictures lie
in docs/pictures/; a test holds them to what this script draws.
"""

import math
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from tapewright.furniture.plot import BRASS, CARD, GROUND, INK, OUTSIDE, QUIET, Drawing

FOLDER = Path(__file__).resolve().parents[1] / "docs" / "pictures"
WIDTH_MM = 190.0
LETTER_MM = 3.4
THICK, THIN = 0.6, 0.25
TEETH = 14  # as many as the practice machine Petrel has


class Sketch(Drawing):
    """A drawing with the few things that all parts need."""

    def __init__(self, height_mm: float, title: str) -> None:
        """Begin a sheet."""
        super().__init__(WIDTH_MM, height_mm, title)
        self.rect(0, 0, WIDTH_MM, height_mm, fill=CARD)

    def shape(self, points: list[tuple[float, float]], fill: str = GROUND, stroke: str = INK) -> None:
        """Draw a closed outline."""
        d = "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points) + "Z"
        self.path(d, fill=fill, stroke=stroke, stroke_width=THICK)

    def box(self, x: float, y: float, width: float, height: float, fill: str = GROUND) -> None:
        """Draw a rectangle by its outline."""
        self.shape([(x, y), (x + width, y), (x + width, y + height), (x, y + height)], fill)

    def label(self, text: str, at: tuple[float, float], to: tuple[float, float] | None = None) -> None:
        """Write a label of one line or more; a thin line leads from it to what it names."""
        x, y = at
        lines = text.split("\n")
        for row, line in enumerate(lines):
            self.text(x, y + row * 4, line, size_mm=LETTER_MM)
        if to is None:
            return
        far = x + 0.52 * LETTER_MM * max(map(len, lines)) + 1  # about as wide as the letters of a system's font are
        start = (far, y - 1.2) if to[0] > far else (x - 1, y - 1.2)
        if x <= to[0] <= far:
            start = (to[0], y + 4 * len(lines) - 2.4 if to[1] > y else y - 3.4)
        self.line(*start, *to, stroke=QUIET, stroke_width=THIN)
        self.circle(*to, 0.5, fill=QUIET)

    def heading(self, text: str, x: float, y: float = 8) -> None:
        """Write what a state is."""
        self.text(x, y, text, size_mm=4.0, font_weight="600", text_anchor="middle")

    def arrow(self, x1: float, y1: float, x2: float, y2: float, colour: str = BRASS) -> None:
        """Draw a straight arrow: a movement."""
        self.line(x1, y1, x2, y2, stroke=colour, stroke_width=THICK)
        self._head(x2, y2, math.atan2(y2 - y1, x2 - x1), colour)

    def turn(self, x: float, y: float, r: float, begin: float, end: float, colour: str = BRASS) -> None:
        """Draw an arrow round a centre; angles in degrees, clockwise from the right."""
        points = [_on(x, y, r, begin + (end - begin) * k / 24) for k in range(25)]
        self.polyline(points, stroke=colour, stroke_width=THICK)
        self._head(*points[-1], math.radians(end + math.copysign(90, end - begin)), colour)

    def _head(self, x: float, y: float, way: float, colour: str) -> None:
        sides = [(x - 2.6 * math.cos(way + turn), y - 2.6 * math.sin(way + turn)) for turn in (0.4, -0.4)]
        self.path(f"M{x:.2f} {y:.2f}" + "".join(f"L{a:.2f} {b:.2f}" for a, b in sides) + "Z", fill=colour,
                  stroke=colour, stroke_width=THIN)  # fmt: skip


BRASS_LIGHT = "#E9D7AC"


def _on(x: float, y: float, r: float, degrees: float) -> tuple[float, float]:
    return x + r * math.cos(math.radians(degrees)), y + r * math.sin(math.radians(degrees))


def contact_and_cam() -> Drawing:
    """A follower on the rim of its cam, and in its notch; below, what the gap does to the mark."""
    sheet = Sketch(138, "A transmitting contact and its cam")
    for left, inside in ((18.0, False), (108.0, True)):
        _contact(sheet, left, inside)
    sheet.heading("on the rim: open, space", 58)
    sheet.heading("in the notch: closed, mark", 148)
    sheet.label("moving contact,\na leaf spring", (4, 18), (44, 26.6))
    sheet.label("fixed contact;\nits screw sets\nthe gap", (4, 35), (42, 35.2))
    sheet.label("follower", (78, 52), (76, 42.6))
    sheet.label("pivot", (93, 52), (89, 45.5))
    sheet.label("cam, one turn\na character", (72, 62), (64, 60))
    sheet.label("notch: the time\nof one element", (72, 74), (60.5, 71))
    _mark_and_gap(sheet, 94)
    return sheet


def _contact(sheet: Sketch, left: float, inside: bool) -> None:
    x, y, r, depth = left + 30, 62.0, 18.0, 4.0
    middle = -90.0 if inside else 35.0
    edges = [(middle - 26, r), (middle - 18, r - depth), (middle + 18, r - depth), (middle + 26, r)]
    rim = [_on(x, y, r, middle + 26 + (308 * k / 90)) for k in range(91)]
    sheet.shape([*rim, *(_on(x, y, radius, angle) for angle, radius in edges)])
    sheet.circle(x, y, 2.2, fill=CARD, stroke=INK, stroke_width=THICK)
    sheet.turn(x, y, 8, 150, 250)
    nose, half = (y - r + depth, depth / 2) if inside else (y - r, 0.0)
    # the follower: nose on the cam, pivot on the right, a stud that lifts the leaf
    sheet.box(x + 19, 29 + half, 2.4, 12.5)
    sheet.shape([(x - 1.2, nose), (x + 1.2, nose), (x + 3.4, nose - 1.5), (x + 40, 47.4), (x + 42.4, 45),
                 (x + 40, 42.6), (x - 3.4, nose - 4.4), (x - 3.4, nose - 1.5)], BRASS_LIGHT)  # fmt: skip
    sheet.circle(x + 40, 45, 1.3, fill=INK)
    tip, leaf = (30.7, 29.4) if inside else (27.4, 28.4)
    sheet.path(f"M{x + 48} 26.5 Q{x + 30} 27 {x + 20.2} {leaf} T{x - 8} {tip}", stroke_width=1.0)
    sheet.box(x + 46, 21, 5, 11)
    sheet.circle(x - 5, tip + 1.3, 1.2, fill=INK)
    sheet.circle(x - 5, 34.2, 1.2, fill=INK)
    sheet.box(x - 6, 35.2, 2, 5.4)
    sheet.box(x - 16, 36.2, 13, 2.2)


def _mark_and_gap(sheet: Sketch, top: float) -> None:
    """The follower's way over time, and how long the contact is closed with a narrow and with a wide gap."""
    begin, end, low, slope = 50.0, 130.0, top + 20, 14.0
    sheet.label("the follower's way into the notch and out, over time", (18, top))
    way = [(20, top + 5), (begin, top + 5), (begin + slope, low), (end - slope, low), (end, top + 5), (160, top + 5)]
    sheet.polyline(way, stroke_width=THICK)
    for name, share, row in (("narrow gap", 0.25, low + 7), ("wide gap", 0.75, low + 14)):
        height = top + 5 + share * (low - top - 5)
        closes, opens = begin + share * slope, end - share * slope
        sheet.line(40, height, 140, height, stroke=QUIET, stroke_width=THIN, stroke_dasharray="1.5 1")
        for x in (closes, opens):
            sheet.line(x, height, x, row, stroke=QUIET, stroke_width=THIN, stroke_dasharray="0.6 0.8")
        sheet.rect(closes, row - 2, opens - closes, 4, fill=INK)
        sheet.label(name, (142, row + 1.2))
    sheet.label("A wider gap closes later and opens earlier: a shorter mark.", (begin, low + 22))


def punch_pin_and_die() -> Drawing:
    """A pin above the tape, through it, and what is left when pin or die are worn."""
    sheet = Sketch(90, "A punch pin and its die")
    for x, down, dull in ((38.0, 0.0, False), (96.0, 15.0, False), (154.0, 15.0, True)):
        _pin(sheet, x, down, dull)
    sheet.heading("before the stroke", 38)
    sheet.heading("a clean cut", 96)
    sheet.heading("a flap that hangs", 154)
    sheet.label("pin", (4, 20), (35, 20))
    sheet.label("guide", (4, 31), (26, 30.5))
    sheet.label("tape", (4, 45), (22, 47.4))
    sheet.label("die", (4, 60), (26, 58))
    sheet.label("the edge\nthat cuts", (64, 76), (91.6, 49.6))
    sheet.label("chad", (105, 76), (98, 73))
    sheet.label("a worn edge, or too short\na stroke: the chad stays on", (130, 76))
    return sheet


def _pin(sheet: Sketch, x: float, down: float, dull: bool) -> None:
    for side in (-1, 1):
        wall, far = x + side * 4.3, x + side * 15
        sheet.box(min(wall, far), 26, 10.7, 9)
        blunt = 2.0 if dull and side > 0 else 0.0
        sheet.shape(
            [(wall + side * blunt, 49), (far, 49), (far, 66), (wall + side * 1.6, 66), (wall, 56), (wall, 49 + blunt)]
        )
        sheet.line(wall if down else x, 47.6, x + side * 19, 47.6, stroke_width=1.4)
    tip = 36.5 + down
    sheet.shape([(x - 4, 12), (x + 4, 12), (x + 4, tip), (x - 4, tip)], BRASS_LIGHT)
    if not down:
        sheet.arrow(x, 22, x, 33)
    elif dull:
        sheet.path(f"M{x + 4.6} 47.8 Q{x + 4.6} 53 {x + 1.4} 56.5", stroke=OUTSIDE, stroke_width=1.4)
    else:
        sheet.line(x - 3.6, 72.6, x + 3.4, 70.8, stroke_width=1.4)


def interposer() -> Drawing:
    """The same stroke with the interposer under the pin and beside it."""
    sheet = Sketch(98, "An interposer decides whether the pin goes with the stroke")
    for x, mark in ((62.0, True), (138.0, False)):
        _interposer(sheet, x, mark)
    sheet.heading("mark: the interposer is in between", 62)
    sheet.heading("space: it is drawn aside", 138)
    sheet.label("die", (4, 18), (42, 18))
    sheet.label("tape", (4, 26), (40, 25.6))
    sheet.label("pin", (4, 33), (59.4, 39))
    sheet.label("spring", (4, 42), (57.4, 45))
    sheet.label("interposer", (4, 64), (57.6, 64))
    sheet.label("bail, rises\nonce a row", (4, 77), (42, 77))
    sheet.label("nothing in between:\nthe stroke does not\nreach the pin", (154, 53), (141, 67))
    return sheet


def _interposer(sheet: Sketch, x: float, mark: bool) -> None:
    lift, aside = (8.0, 0.0) if mark else (0.0, 16.0)
    top, foot, bail = 30 - lift, 60 - lift, 75.0
    for side in (-1, 1):
        sheet.box(min(x + side * 3.4, x + side * 20), 15, 16.6, 8)
        sheet.line(x + side * 3.4 if mark else x, 25.6, x + side * 24, 25.6, stroke_width=1.4)
        sheet.box(min(x + side * 3.4, x + side * 20), 33, 16.6, 3.5)
        coils = [(x + side * (3.8 + 1.8 * (k % 2)), 37 + (foot - 44) * k / 8) for k in range(9)]
        sheet.polyline(coils, stroke=QUIET, stroke_width=THICK)
    sheet.shape([(x - 3, top), (x + 3, top), (x + 3, foot - 7), (x + 6, foot - 7), (x + 6, foot), (x - 6, foot),
                 (x - 6, foot - 7), (x - 3, foot - 7)], BRASS_LIGHT)  # fmt: skip
    sheet.box(x - 5 - aside, foot + (0.4 if mark else -0.6), 10, bail - foot - (0.8 if mark else 0.0), CARD)
    sheet.box(x - 20 + aside * 0.7, bail, 40 - aside * 0.7, 5)
    sheet.arrow(x + 14, 94, x + 14, bail + 7)
    if not mark:
        sheet.arrow(x - 9, 86, x - 21, 86)


def feed_ratchet() -> Drawing:
    """Pawl, ratchet, detent and feed wheel; one tooth of the ratchet is worn."""
    sheet = Sketch(112, "The feed: a pawl turns the ratchet by one tooth a row")
    x, y, r, step, worn = 66.0, 58.0, 27.0, 360 / TEETH, 9
    outline = []
    for tooth in range(TEETH):
        face = tooth * step + 4
        # the pawl pushes on the steep side: a worn tooth has its face set back
        outline += [_on(x, y, r - 6, face - 3), _on(x, y, r - 0.8 * (tooth == worn), face + 5 * (tooth == worn))]
    sheet.shape(outline)
    sheet.circle(x, y, 2.4, fill=INK)
    sheet.circle(*_on(x, y, r - 2, worn * step + 4), 4.2, fill="none", stroke=OUTSIDE, stroke_width=THICK)
    sheet.turn(x, y, 13, 200, 300)
    tip = _on(x, y, r - 4.4, 7 * step + 1)
    sheet.shape([(tip[0], tip[1]), (tip[0] - 6, tip[1] + 2.4), (tip[0] - 12.4, 96), (tip[0] - 8.4, 97),
                 (tip[0] - 2.4, tip[1] + 6)], BRASS_LIGHT)  # fmt: skip
    sheet.arrow(24, 92, 28, 74)
    roller = _on(x, y, r + 0.4, 2 * step - 8)
    sheet.path(f"M{roller[0]:.2f} {roller[1]:.2f} L108 96", stroke_width=2.2)
    sheet.circle(*roller, 3.2, fill=BRASS_LIGHT, stroke=INK, stroke_width=THICK)
    sheet.circle(108, 96, 1.8, fill=INK)
    _feed_wheel(sheet, 148.0, y)
    sheet.line(x + 4, y, 148 - 4, y, stroke=QUIET, stroke_width=THIN, stroke_dasharray="3 1 0.6 1")
    sheet.heading("ratchet", x)
    sheet.heading("feed wheel, on the same shaft", 148)
    sheet.label("a worn tooth:\none step in fourteen\nis short", (4, 16), _on(x, y, r + 2, worn * step + 6))
    sheet.label("pawl, one push\na row", (4, 104), (32, 93))
    sheet.label("detent: a roller on a spring\narm keeps it there", (82, 104), (103, 92.6))
    sheet.label("tape, pulled by\nits feed holes", (106, 20), (126, 33.4))
    return sheet


def _feed_wheel(sheet: Sketch, x: float, y: float) -> None:
    r, pitch = 22.0, 22.0 * 2 * math.pi / TEETH
    for pin in range(TEETH):
        angle = -90 + pin * 360 / TEETH
        sheet.shape([_on(x, y, r, angle - 4), _on(x, y, r + 4, angle - 1), _on(x, y, r + 4, angle + 1),
                     _on(x, y, r, angle + 4)], INK)  # fmt: skip
    sheet.circle(x, y, r, fill=GROUND, stroke=INK, stroke_width=THICK)
    sheet.circle(x, y, 2.4, fill=INK)
    for k in range(-3, 4):
        sheet.line(x + (k - 0.5) * pitch + 1.2, y - r - 1.4, x + (k + 0.5) * pitch - 1.2, y - r - 1.4, stroke_width=1.4)
    sheet.arrow(x - 4, y - r - 9, x + 14, y - r - 9)


DRAWINGS: dict[str, Callable[[], Drawing]] = {
    "contact-and-cam": contact_and_cam,
    "punch-pin-and-die": punch_pin_and_die,
    "interposer": interposer,
    "feed-ratchet": feed_ratchet,
}


def drawn() -> Iterator[tuple[Path, str]]:
    """Return each file with what belongs in it."""
    for name, draw in DRAWINGS.items():
        yield FOLDER / f"{name}.svg", draw().svg()


def main() -> int:
    """Write the drawings."""
    for file, text in drawn():
        file.write_text(text, encoding="utf-8")
        print("wrote", file.name)
    return 0


if __name__ == "__main__":
    sys.exit(main())
