"""A line result as a picture: the trace with its elements, lateness per contact, speed over time, the instants.

Picture:

    trace     a few characters, elements as bands, instants that are late or early with a flag as long as that
    contacts  closing (square) and opening (ring) of each contact, with its expanded uncertainty
    speed     unit of each character over time
    instants  how many lie how far from their place
"""

import numpy as np

from tapewright.furniture.plot import BRASS, CARD, INK, OUTSIDE, QUIET, Axes, Drawing
from tapewright.line.document import LineResult, LineTrace
from tapewright.line.read import LineReport
from tapewright.line.trace import Room, draw_trace, telling_character

WIDTH_MM, HEIGHT_MM, LEFT_MM, RIGHT_MM = 190.0, 216.0, 18.0, 8.0
TRACE_CHARACTERS = 5


def line_plot(report: LineReport) -> str:
    """Return the picture as an SVG document."""
    result = report.result
    drawing = Drawing(WIDTH_MM, HEIGHT_MM, f"Line signal of {report.file}")
    drawing.rect(0, 0, WIDTH_MM, HEIGHT_MM, fill=CARD)
    drawing.text(LEFT_MM - 10, 9, f"{report.file}: {_headline(result)}", size_mm=4.2, font_weight="600")
    if result.trace is None:
        drawing.text(LEFT_MM - 10, 20, result.notes[0] if result.notes else "nothing to show")
        return drawing.svg()
    _trace(drawing, result, result.trace, top=22)
    _contacts(drawing, result, top=74)
    _speed(drawing, result, top=134)
    _instants(drawing, result, top=178)
    return drawing.svg()


def _headline(result: LineResult) -> str:
    speed = result.speed
    if speed.unit_ms.value is None:
        return "no characters"
    first = f"; first: {result.findings[0].part}" if result.findings else ""
    return f"{speed.baud}, unit {speed.unit_ms}{first}"


def _trace(drawing: Drawing, result: LineResult, trace: LineTrace, top: float) -> None:
    first = telling_character(result, trace, TRACE_CHARACTERS)
    last = min(first + TRACE_CHARACTERS, trace.frames.start_s.size) - 1
    draw_trace(drawing, result, trace, (first, last), Room(LEFT_MM, top + 8, WIDTH_MM - LEFT_MM - RIGHT_MM, 34))


def _contacts(drawing: Drawing, result: LineResult, top: float) -> None:
    readings = [r for c in result.contacts for r in (c.closing_late_ms, c.opening_late_ms) if r.value is not None]
    ends = [abs(r.value or 0.0) + (r.expanded or 0.0) for r in readings]
    reach = max([0.2, *ends]) * 1.15
    n = len(result.contacts)
    axes = Axes(drawing, LEFT_MM, top + 6, 104, 38, (0, n), (-reach, reach))
    axes.y_axis("own lateness, ms (late up; bars: 95 %)")
    for i, contact in enumerate(result.contacts):
        for shift, reading, ring in ((0.36, contact.closing_late_ms, False), (0.64, contact.opening_late_ms, True)):
            if reading.value is None:
                continue
            colour = OUTSIDE if contact.probability_off > 0.5 and abs(reading.value) > 3 * (reading.u or 0.0) else INK
            axes.interval(i + shift, reading.value, reading.expanded or 0.0, colour)
            if colour == OUTSIDE:
                label = f"{reading.value:+z.2f}"
                drawing.text(axes.x(i + shift) + 1.8, axes.y(reading.value) + 1.0, label, size_mm=3.0, fill=OUTSIDE)
            if ring:
                drawing.circle(axes.x(i + shift), axes.y(reading.value), 0.5, fill=CARD)
        foot = axes.top + axes.height + 4
        drawing.text(axes.x(i + 0.5), foot, contact.contact, size_mm=3.4, text_anchor="middle")
    drawing.text(
        LEFT_MM + 104,
        axes.top + 44 + 4,
        "contact; filled: closing, ring: opening",
        size_mm=2.8,
        fill=QUIET,
        text_anchor="end",
    )
    _receiver(drawing, result, left=LEFT_MM + 118, top=top + 6)


def _receiver(drawing: Drawing, result: LineResult, left: float, top: float) -> None:
    receiver = result.receiver
    if receiver is None:
        return
    n = len(receiver.per_element)
    axes = Axes(drawing, left, top, WIDTH_MM - left - RIGHT_MM, 38, (-50, 50), (n + 0.5, 0.5))
    drawing.text(left - 2, top - 2.2, "where a receiver may look", size_mm=2.8, fill=QUIET)
    for number, range_ in enumerate(receiver.per_element, start=1):
        y = axes.y(number)
        low, high = axes.x(range_.orientation_low), axes.x(range_.orientation_high)
        drawing.text(left - 2, y + 1, str(number), size_mm=3.0, text_anchor="end")
        if high > low:
            drawing.rect(low, y - 1.6, high - low, 3.2, fill=BRASS, fill_opacity=0.55)
    drawing.line(axes.x(0), top, axes.x(0), top + 38, stroke=QUIET, stroke_width=0.15, stroke_dasharray="1 1")
    axes.x_axis("% of a unit about the middle", [-40, -20, 0, 20, 40])


def _speed(drawing: Drawing, result: LineResult, top: float) -> None:
    known = [(c.start_s, c.unit_ms) for c in result.characters if c.unit_ms.value is not None]
    if len(known) < 2:
        return
    step = max(1, len(known) // 600)
    known = known[::step]
    values = np.array([r.value for _, r in known], float)
    middle = float(np.median(values))
    spread = max(float(np.percentile(np.abs(values - middle), 95)) * 1.4, middle * 0.002)
    times = (known[0][0], known[-1][0])
    axes = Axes(drawing, LEFT_MM, top + 6, WIDTH_MM - LEFT_MM - RIGHT_MM, 26, times, (middle - spread, middle + spread))
    axes.y_axis("unit, ms")
    axes.curve([(t, float(np.clip(r.value or 0.0, *axes.y_range))) for t, r in known], colour=INK, width=0.25)
    if result.speed.nominal_baud and axes.y_range[0] < 1e3 / result.speed.nominal_baud < axes.y_range[1]:
        y = axes.y(1e3 / result.speed.nominal_baud)
        drawing.line(axes.left, y, axes.left + axes.width, y, stroke=BRASS, stroke_width=0.3, stroke_dasharray="2 1")
        drawing.text(axes.left + axes.width, y - 0.8, "nominal", size_mm=2.6, fill=BRASS, text_anchor="end")
    axes.x_axis("time, s")


def _instants(drawing: Drawing, result: LineResult, top: float) -> None:
    counts = result.distortion.histogram
    if counts is None:
        return
    low, heights = counts.from_percent, counts.counts
    reach = (low - 1, low + len(heights) + 1)
    axes = Axes(drawing, LEFT_MM, top + 6, WIDTH_MM - LEFT_MM - RIGHT_MM, 20, reach, (0, max(heights)))
    title = f"instants by their distortion, n = {sum(heights)}"
    drawing.text(LEFT_MM - 10, axes.top - 2.2, title, size_mm=2.8, fill=QUIET)
    for i, height in enumerate(heights):
        if height:
            left, right = axes.x(low + i), axes.x(low + i + 1)
            drawing.rect(left, axes.y(height), right - left - 0.15, axes.y(0) - axes.y(height), fill=INK)
    axes.x_axis("% of the measured unit; late +, early -")
