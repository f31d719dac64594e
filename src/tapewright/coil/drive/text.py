"""A search over resistor and suppressor: words, JSON, and the trade as a picture.

A plan in words, cautions first.
"""

from collections.abc import Iterator
from typing import Any

import numpy as np

from tapewright.coil.compare import WHY
from tapewright.coil.drive.choice import Choice, Searched
from tapewright.coil.drive.drive import Kind
from tapewright.coil.drive.plan import Plan
from tapewright.coil.stream import Spread
from tapewright.furniture.plot import BRASS, GROUND, INK, PROVED, QUIET, Axes, Drawing
from tapewright.furniture.writing import verdicts_text

WIDTH = 100


def plan_text(plan: Plan) -> str:
    """Return the report."""
    return "\n".join([*_cautions(plan), *_circuit(plan), *_times(plan), *_text(plan), *_power(plan), *_compare(plan),
                      "\nVerdicts", *verdicts_text(plan.verdicts)])  # fmt: skip


def wrapped(text: str, first: str = "  ", rest: str = "    ") -> str:
    """Break a sentence into lines."""
    lines, line = [], first
    for word in text.split():
        if len(line) + len(word) > WIDTH and line.strip():
            lines.append(line.rstrip())
            line = rest
        line += word + " "
    return "\n".join([*lines, line.rstrip()])


def _cautions(plan: Plan) -> Iterator[str]:
    yield "Before anything is switched on"
    for caution in plan.cautions:
        yield wrapped("- " + caution)


def _circuit(plan: Plan) -> Iterator[str]:
    drive, f = plan.request.drive, plan.figures
    yield "\nThe drive"
    limit = f", limit {drive.supply.limit_a:g} A" if drive.supply.limit_a < float("inf") else ""
    yield (
        f"  {drive.supply.volts:g} V{limit}, {drive.series_ohm:.4g} ohm in series, coil {drive.coil.r_ohm:.4g} ohm at "
        f"{drive.coil.at_c:g} degrees and {drive.coil.l_h:.4g} H, {drive.suppressor},"
    )
    yield f"  switch on the {'high' if drive.high_side else 'low'} side."
    yield f"  Steady current   {f['steady_a'].scaled(1e3, 'mA')}"
    yield f"  Time constant    {f['tau_ms']}"
    yield f"  Stored energy    {f['energy_j'].scaled(1e3, 'mJ')}"
    yield f"  Contact sees     {f['peak_v']} on opening"


def _times(plan: Plan) -> Iterator[str]:
    f = plan.figures
    travel = plan.request.drive.coil.travel_s or plan.request.drive.coil.return_s
    yield "\nThe armature, " + ("its travel included" if travel else "its travel not included")
    yield f"  Operates after   {f['operate_ms']}"
    yield f"  Releases after   {f['release_ms']}"
    bias = f["added_bias_percent"]
    kind = "" if bias.value is None else " (marking: marks grow)" if bias.value > 0 else " (spacing: marks shrink)"
    yield f"  Adds bias        {bias} of a {plan.request.unit_s * 1e3:g} ms unit{kind}"


def _text(plan: Plan) -> Iterator[str]:
    stream = plan.stream
    yield f"\nReal characters ({len(plan.request.codes)} codes at {1 / stream.unit_s:.4g} baud)"
    missed = stream.missed_marks + stream.missed_spaces
    if missed:
        yield wrapped(
            f"The armature misses {stream.missed_marks} marks and {stream.missed_spaces} spaces: with this drive the "
            "machine cannot receive the text."
        )
        return
    bias, worst = stream.bias_s or 0.0, stream.worst_s or 0.0
    yield f"  Every element is followed; mean bias {bias * 1e3:+z.2f} ms ({bias / stream.unit_s * 100:+z.1f} %),"
    yield f"  largest displacement against the start {worst * 1e3:.2f} ms ({worst / stream.unit_s * 100:.1f} %)."
    marks, spaces = stream.isolated(marks=True), stream.isolated(marks=False)
    yield f"  Marks of one unit grow by {_span(marks)}; spaces by {_span(spaces)}."
    yield "  element   begins late          ends late            mark alone grows"
    for e in stream.per_element():
        yield f"  {e.element}         {_span(e.begins_late):<20} {_span(e.ends_late):<20} {_span(e.mark_longer)}"


def _span(spread: Spread) -> str:
    if spread.mean is None or spread.low is None or spread.high is None:
        return "none"
    if spread.high - spread.low < 5e-6:
        return f"{spread.mean * 1e3:+z.2f} ms"
    return f"{spread.low * 1e3:+z.2f} to {spread.high * 1e3:+z.2f} ms"


def _power(plan: Plan) -> Iterator[str]:
    heat = plan.heat
    yield "\nHeat              held in mark   peak      mean over the text"
    for name, power in (("supply", heat.supply), ("coil", heat.coil), ("series resistor", heat.resistor)):
        yield f"  {name:<16}{power.held_w:8.3g} W  {power.peak_w:8.3g} W  {power.mean_w:8.3g} W"
    if plan.request.drive.series_ohm:
        sold = f", sold as {heat.sold_w:g} W" if heat.sold_w else ", more than one resistor carries: share it out"
        yield f"  Fit a resistor of at least {heat.fit_w:.3g} W{sold}."
    duty = plan.duty
    allowed = "not shown" if duty.allowed_fraction is None else f"{duty.allowed_fraction * 100:.0f} % of the time"
    yield f"  The text has the coil on {duty.mark_fraction * 100:.0f} % of the time."
    yield wrapped(f"May be on: {allowed} ({duty.why}).")
    if duty.hot_c is not None:
        yield f"  Held for ever the coil settles near {duty.hot_c:.0f} degrees Celsius."
    if heat.break_j > 1e-9:
        yield f"  The contact and what lies across it take {heat.break_j * 1e3:.3g} mJ at each break."
    if plan.contact_peak_a > 2 * (plan.figures["steady_a"].value or 0.0):
        yield f"  The closing contact carries up to {plan.contact_peak_a:.3g} A for a moment (the capacitor's charge)."


def _compare(plan: Plan) -> Iterator[str]:
    yield "\nThe same coil at the same current from other voltages"
    yield "     volts    resistor   time constant   operates   releases   added bias   coil      resistor"
    for a in plan.comparison:
        own = ">" if a.volts == plan.request.drive.supply.volts else " "
        yield (
            f"  {own} {a.volts:5g} V  {a.series_ohm:7.0f} ohm  {a.tau_s * 1e3:9.2f} ms  {_ms(a.operate_s)}  "
            f"{_ms(a.release_s)}  {_percent(a.bias_percent)}  {a.coil_w:6.3g} W  {a.resistor_w:6.3g} W"
        )
    yield wrapped(WHY, "  ", "  ")


def _ms(time_s: float | None) -> str:
    return "   never   " if time_s is None else f"{time_s * 1e3:8.2f} ms"


def _percent(value: float | None) -> str:
    return "    -     " if value is None else f"{value:+8.1f} %"


WIDTH_MM, HEIGHT_MM = 190.0, 138.0
MOST_POINTS = 4000


def search_text(searched: Searched) -> str:
    """Return the report."""
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
    """Return the part of the document."""
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
