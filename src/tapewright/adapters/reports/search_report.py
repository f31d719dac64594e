"""A search over resistor and suppressor: words, JSON, and the trade as a picture."""

from collections.abc import Iterator
from typing import Any

import numpy as np

from tapewright.adapters.reports.plot import Axes
from tapewright.adapters.reports.svg import BRASS, GROUND, INK, PROVED, QUIET, Drawing
from tapewright.core.magnet.choice import Choice, Searched
from tapewright.core.magnet.drive import Kind

WIDTH_MM, HEIGHT_MM = 190.0, 138.0
MOST_POINTS = 4000


def search_text(searched: Searched) -> str:
    """Give the report."""
    return "\n".join(_lines(searched))


def _lines(searched: Searched) -> Iterator[str]:
    wish, found = searched.wish, searched.found
    yield f"\nWhich resistor and suppressor ({found.series_ohm.size} drives tried with the whole text)"
    yield (
        f"  Wanted: every instant within {wish.bias_percent:g} % of the unit, contact up to {wish.contact_v:g} V, "
        f"at least {wish.current_ratio:g} times the pull-in current."
    )
    if not searched.choices:
        yield "  No drive meets all of that. Raise the volts of the supply, or allow more at the contact."
        return
    yield "  resistor    suppressor                              instants within  mean bias  contact   resistor heat"
    for c in searched.choices:
        yield (
            f"  {c.drive.series_ohm:6.0f} ohm  {c.drive.suppressor!s:<38}  {c.worst_percent:9.1f} %     "
            f"{c.bias_percent:+6.1f} %  {c.peak_v:5.0f} V  {c.resistor_w:7.3g} W"
        )


def search_document(searched: Searched | None) -> dict[str, Any] | None:
    """Give the part of the document."""
    if searched is None:
        return None
    wish = searched.wish
    return {
        "wish": {
            "added_bias_percent": wish.bias_percent,
            "contact_v": wish.contact_v,
            "least_current_ratio": wish.current_ratio,
            "most_resistor_w": wish.resistor_w if np.isfinite(wish.resistor_w) else None,
        },
        "tried": int(searched.found.series_ohm.size),
        "meeting": int(searched.found.meets.sum()),
        "choices": [_choice(choice) for choice in searched.choices],
    }


def _choice(choice: Choice) -> dict[str, Any]:
    part = choice.drive.suppressor
    return {
        "series_ohm": choice.drive.series_ohm,
        "suppressor": {
            "kind": part.kind.value, "r_ohm": part.r_ohm, "volts": part.volts, "c_f": part.c_f,
            "across": "contact" if part.on_contact else "coil", "words": str(part),
        },
        "steady_a": choice.drive.steady_a,
        "worst_percent": choice.worst_percent,
        "added_bias_percent": choice.bias_percent,
        "peak_v": choice.peak_v,
        "resistor_w": choice.resistor_w,
    }  # fmt: skip


#: kind -> (word, shape): shape and word tell them apart, not colour
SHAPES = {
    Kind.NONE: ("none", "x"), Kind.DIODE: ("diode", "o"), Kind.DIODE_R: ("diode + r", "."),
    Kind.ZENER: ("zener", "+"), Kind.RC: ("rc", "-"),
}  # fmt: skip


def search_plot(searched: Searched) -> str:
    """Draw the trade: volts across the contact against the largest displacement, each kind with its shape."""
    found, wish = searched.found, searched.wish
    drawing = Drawing(WIDTH_MM, HEIGHT_MM, "Trade between contact voltage and bias")
    drawing.rect(0, 0, WIDTH_MM, HEIGHT_MM, fill=GROUND)
    drawing.text(18, 9, "Faster release costs volts across the contact", size_mm=3.8)
    top_v, top_percent = 2.2 * wish.contact_v, 4 * wish.bias_percent
    axes = Axes(drawing, 18, 24, 160, 74, (0.0, top_v), (0.0, top_percent))
    axes.x_axis("V across the opening contact")
    axes.y_axis("largest displacement of an instant, % of the unit")
    x, y = axes.x(wish.contact_v), axes.y(wish.bias_percent)
    for ends in ((axes.left, y, x, y), (x, y, x, axes.top + axes.height)):
        drawing.line(*ends, stroke=BRASS, stroke_width=0.4, stroke_dasharray="2 1")
    shown = np.flatnonzero((found.peak_v <= top_v) & (found.worst_percent <= top_percent))
    for n in shown[:: max(1, shown.size // MOST_POINTS)]:
        kind = found.parts[int(found.part[n])].kind
        at_x, at_y = axes.x(found.peak_v[n]), axes.y(found.worst_percent[n])
        _mark(drawing, at_x, at_y, SHAPES[kind][1], met=bool(found.meets[n]))
    drawing.rect(x + 1, y - 3.6, 40, 4.4, fill=GROUND)
    drawing.text(x + 2, y - 0.4, "wanted: left and below", size_mm=2.8, fill=BRASS)
    _legend(drawing)
    for number, choice in enumerate(searched.choices, start=1):
        at = axes.x(choice.peak_v), axes.y(choice.worst_percent)
        drawing.circle(*at, 1.7, fill=PROVED)
        drawing.text(at[0], at[1] + 1, str(number), size_mm=2.6, fill=GROUND, text_anchor="middle")
        words = f"{number}  {choice.drive.series_ohm:.0f} ohm, {choice.drive.suppressor}, {choice.resistor_w:.2g} W"
        drawing.text(axes.left, axes.top + axes.height + 10 + 4.6 * number, words, size_mm=3.2)
    return drawing.svg()


def _mark(drawing: Drawing, x: float, y: float, shape: str, *, met: bool) -> None:
    colour, size = (INK, 0.7) if met else (QUIET, 0.5)
    if shape == "o":
        drawing.circle(x, y, size, fill="none", stroke=colour, stroke_width=0.2)
    elif shape == ".":
        drawing.circle(x, y, size * 0.5, fill=colour)
    if shape in "+-":
        drawing.line(x - size, y, x + size, y, stroke=colour, stroke_width=0.2)
    if shape == "+":
        drawing.line(x, y - size, x, y + size, stroke=colour, stroke_width=0.2)
    if shape == "x":
        for side in (-1, 1):
            drawing.line(x - size, y - side * size, x + size, y + side * size, stroke=colour, stroke_width=0.2)


def _legend(drawing: Drawing) -> None:
    x = 18.0
    for word, shape in SHAPES.values():
        _mark(drawing, x, 15.2, shape, met=True)
        drawing.text(x + 2, 16.2, word, size_mm=2.8)
        x += 24
    drawing.text(x, 16.2, "dark: meets all that is wanted", size_mm=2.8, fill=QUIET)
