"""Pictures of a planned drive: current on make and on break, the first characters, the trade a search found."""

import numpy as np

from tapewright.coil.drive.choice import Searched
from tapewright.coil.drive.drive import Kind
from tapewright.coil.drive.plan import Plan
from tapewright.coil.drive.solved import Trace
from tapewright.furniture.plot import BRASS, GROUND, INK, OUTSIDE, PROVED, QUIET, Axes, Drawing

WIDTH_MM, HEIGHT_MM, TRADE_MM = 190.0, 150.0, 138.0
POINTS, MOST_POINTS = 600, 4000
SHOWN_CHARACTERS = 2
BAND = "#E9DFC8"


def plan_plot(plan: Plan) -> str:
    """Return the picture as SVG."""
    drawing = Drawing(WIDTH_MM, HEIGHT_MM, f"Current of a magnet coil, {plan.request.drive.suppressor}")
    drawing.rect(0, 0, WIDTH_MM, HEIGHT_MM, fill=GROUND)
    highest = max(plan.request.drive.steady_a, plan.make.highest("load_a")) * 1.1e3
    for left, title, trace, name in (
        (18.0, "Switch closes after a long space", plan.make, "operate_ms"),
        (112.0, "Switch opens after a long mark", plan.broken, "release_ms"),
    ):
        _one(drawing, plan, (left, title, name), trace, highest)
    _characters(drawing, plan, highest)
    return drawing.svg()


def _one(drawing: Drawing, plan: Plan, what: tuple[float, str, str], trace: Trace, highest: float) -> None:
    left, title, name = what
    coil, figures = plan.request.drive.coil, plan.document.readings
    reading = figures.operate_ms if name == "operate_ms" else figures.release_ms
    shown_ms = min(_shown_ms(plan, reading.value), trace.segments[-1].end_s * 1e3)
    axes = Axes(drawing, left, 20, 70, 42, (0.0, shown_ms), (0.0, highest))
    drawing.text(left, 9, title, size_mm=3.6)
    axes.x_axis("ms")
    axes.y_axis("mA")
    for level_ma, word in ((coil.pull_in_a * 1e3, "pull-in"), (coil.drop_out_a * 1e3, "drop-out")):
        at = axes.y(level_ma)
        drawing.line(left, at, left + 70, at, stroke=BRASS, stroke_width=0.25, stroke_dasharray="2 1")
        drawing.text(left + 70, at - 0.8, word, size_mm=2.6, fill=BRASS, text_anchor="end")
    times = np.linspace(0, shown_ms * 1e-3, POINTS)
    current = trace.sample(times)["coil_a"] * 1e3
    axes.curve(zip(times * 1e3, np.clip(current, 0, None), strict=True), width=0.5)
    if reading.value is not None and reading.value <= shown_ms:
        level = (coil.pull_in_a if name == "operate_ms" else coil.drop_out_a) * 1e3
        _arrival(axes, reading.value, level, reading.expanded)
        drawing.text(left + 70, 15, f"{name.removesuffix('_ms')}s after {reading}", size_mm=3.2, text_anchor="end")


def _shown_ms(plan: Plan, value: float | None) -> float:
    longest = 5 * plan.request.drive.tau_s * 1e3
    return max(1.6 * (value or 0.0), min(longest, 2 * plan.request.unit_s * 1e3))


def _arrival(axes: Axes, time_ms: float, level: float, expanded: float | None) -> None:
    """Mark an arrival with its expanded uncertainty as a bar along the time."""
    at, y = axes.x(time_ms), axes.y(level)
    axes.drawing.line(at, y, at, axes.top + axes.height, stroke=PROVED, stroke_width=0.3)
    axes.drawing.circle(at, y, 0.9, fill=PROVED)
    if expanded:
        ends = [axes.x(max(time_ms + side * expanded, 0.0)) for side in (-1, 1)]
        axes.drawing.line(*(ends[0], y, ends[1], y), stroke=PROVED, stroke_width=0.6)
        for end in ends:
            axes.drawing.line(end, y - 0.9, end, y + 0.9, stroke=PROVED, stroke_width=0.4)


def _characters(drawing: Drawing, plan: Plan, highest: float) -> None:
    unit_ms, stop = plan.request.unit_s * 1e3, plan.request.stop_units
    count = min(SHOWN_CHARACTERS, len(plan.request.codes))
    length_ms = (6 + stop) * unit_ms * count
    axes = Axes(drawing, 18, 92, 164, 34, (0.0, length_ms), (0.0, highest))
    drawing.text(18, 80, "The first characters: sent, current, armature", size_mm=3.6)
    for number in range(count):
        begin = number * (6 + stop) * unit_ms
        for element in range(1, 6):
            x = axes.x(begin + element * unit_ms)
            if plan.request.codes[number][element - 1] == "1":
                drawing.rect(x, axes.top, axes.x(begin + (element + 1) * unit_ms) - x, 34, fill=BAND)
            middle = (x + axes.x(begin + (element + 1) * unit_ms)) / 2
            drawing.text(middle, axes.top - 1.2, str(element), size_mm=2.6, fill=QUIET, text_anchor="middle")
        rest = axes.x(begin + 6 * unit_ms)
        drawing.rect(rest, axes.top, axes.x(begin + (6 + stop) * unit_ms) - rest, 34, fill=BAND)
    axes.x_axis("ms")
    axes.y_axis("mA")
    times = np.linspace(0, length_ms * 1e-3 * (1 - 1e-9), 4 * POINTS)
    current = np.clip(plan.stream.trace.sample(times)["coil_a"] * 1e3, 0, highest)
    axes.curve(zip(times * 1e3, current, strict=True), width=0.4)
    _armature(drawing, axes, plan, length_ms)


def _armature(drawing: Drawing, axes: Axes, plan: Plan, length_ms: float) -> None:
    """Draw where the armature is as a bar under the current: in = filled."""
    top = axes.top + axes.height + 10.5
    drawing.text(axes.left, top + 3, "armature in", size_mm=2.8, fill=INK, text_anchor="start")
    since: float | None = 0.0
    drawing.line(axes.left, top + 6, axes.left + axes.width, top + 6, stroke=QUIET, stroke_width=0.2)
    for instant in plan.stream.instants:
        if instant.at_s * 1e3 > length_ms:
            break
        if instant.followed_s is None:
            drawing.text(axes.x(instant.at_s * 1e3), top + 11, "missed", size_mm=2.6, fill=OUTSIDE)
        elif instant.to_mark:
            since = instant.followed_s * 1e3
        elif since is not None:
            x = axes.x(since)
            drawing.rect(x, top + 4.4, max(axes.x(instant.followed_s * 1e3) - x, 0.2), 3.2, fill=PROVED)
            since = None
    if since is not None:
        x = axes.x(since)
        drawing.rect(x, top + 4.4, max(axes.x(length_ms) - x, 0.2), 3.2, fill=PROVED)


#: kind -> (word, shape): shape and word tell them apart, not colour
SHAPES = {
    Kind.NONE: ("none", "x"), Kind.DIODE: ("diode", "o"), Kind.DIODE_R: ("diode + r", "."),
    Kind.ZENER: ("zener", "+"), Kind.RC: ("rc", "-"),
}  # fmt: skip


def search_plot(searched: Searched) -> str:
    """Draw the trade: volts across the contact against the largest displacement, each kind with its shape."""
    found, wish = searched.found, searched.wish
    drawing = Drawing(WIDTH_MM, TRADE_MM, "Trade between contact voltage and bias")
    drawing.rect(0, 0, WIDTH_MM, TRADE_MM, fill=GROUND)
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
        words = f"{number}  {choice.series_ohm:.0f} ohm, {choice.suppressor.words}, {choice.resistor_w:.2g} W"
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
