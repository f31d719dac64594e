"""The plots of the proof: as found and as left in one drawing, in black and white by shape.

Picture of the contacts (ms late up, early down; bars are U = 2u):

      |    #          #  as found, filled square      o  as left, ring
    0 |--o-#----o--------o---#o--
      |  1    2     3     4
"""

from collections.abc import Sequence

from tapewright.furniture.pages.printable import printable
from tapewright.furniture.plot import CARD, INK, QUIET, Axes, Drawing
from tapewright.number import Reading
from tapewright.proof.document import ContactFigures, LineFigures, TapeFigures
from tapewright.reference.five_unit_tape import CODE_HOLE_MM, FEED_HOLE_MM, GRID_MM, TRACK_STEPS
from tapewright.tape.drawing import END_MM

WIDTH_MM, LEFT_MM, RIGHT_MM = 174.0, 16.0, 6.0
#: Rows of a tape that fit across the page at full size.
ROWS_SHOWN = 60
MOST_POINTS = 400
LIGHT = "#8E9299"


def contacts_plot(lines: Sequence[LineFigures]) -> str:
    """Draw each contact's own lateness, closing and opening, as found beside as left."""
    drawing = Drawing(WIDTH_MM, 66, "How late each contact closes and opens, as found and as left")
    readings = [r for line in lines for c in line.contacts for r in (c.closing, c.opening) if r is not None]
    reach = max([0.2, *(abs(r.value or 0.0) + (r.expanded or 0.0) for r in readings)]) * 1.12
    names = list(dict.fromkeys(c.contact for line in lines for c in line.contacts))
    half = (WIDTH_MM - LEFT_MM - RIGHT_MM - 12) / 2
    for side, (title, pick) in enumerate((("closing", "closing"), ("opening", "opening"))):
        left = LEFT_MM + side * (half + 12)
        axes = Axes(drawing, left, 10, half, 44, (0, max(1, len(names))), (-reach, reach))
        axes.y_axis(f"{title}, ms (late is up)")
        for n, name in enumerate(names):
            drawing.text(axes.x(n + 0.5), 59, printable(name, may_break=False)[:8], size_mm=3.2, text_anchor="middle")
        for line in lines:
            _contacts(axes, line, names, pick)
    _key(drawing, lines, 64.5)
    return drawing.svg()


def _contacts(axes: Axes, line: LineFigures, names: Sequence[str], pick: str) -> None:
    found = line.phase == "as found"
    for contact in line.contacts:
        reading: Reading | None = getattr(contact, pick)
        if reading is None or reading.value is None:
            continue
        x = names.index(contact.contact) + (0.36 if found else 0.64)
        axes.interval(x, reading.value, reading.expanded or 0.0, INK)
        _mark(axes.drawing, axes.x(x), axes.y(reading.value), found=found)


def _mark(drawing: Drawing, x: float, y: float, *, found: bool) -> None:
    """Draw a filled square for as found, a ring for as left."""
    if found:
        drawing.rect(x - 1.1, y - 1.1, 2.2, 2.2, fill=INK)
    else:
        drawing.circle(x, y, 1.2, fill=CARD, stroke=INK, stroke_width=0.45)


def _key(drawing: Drawing, figures: Sequence[LineFigures], y: float, *, bars: bool = True) -> None:
    x = LEFT_MM
    for one in figures:
        _mark(drawing, x, y - 1.0, found=one.phase == "as found")
        drawing.text(x + 2.6, y, f"{one.phase}, line {one.line} of the book", size_mm=2.8, fill=QUIET)
        x += 62
    if bars:
        drawing.text(WIDTH_MM - RIGHT_MM, y, "bars: U = 2u, about 95 %", size_mm=2.8, fill=QUIET, text_anchor="end")


def speed_plot(lines: Sequence[LineFigures], nominal_ms: float) -> str:
    """Draw the unit of each character over time, the nominal unit as a dashed line."""
    drawing = Drawing(WIDTH_MM, 52, "Length of the unit over time, as found and as left")
    known = [line for line in lines if len(line.units) > 1]
    values = [unit for line in known for _, unit in line.units] + [nominal_ms]
    low, high = min(values), max(values)
    room = max(0.12 * (high - low), 0.0005 * nominal_ms)
    end = max((line.units[-1][0] for line in known), default=1.0)
    begin = min((line.units[0][0] for line in known), default=0.0)
    axes = Axes(drawing, LEFT_MM, 8, WIDTH_MM - LEFT_MM - RIGHT_MM - 22, 28, (begin, end), (low - room, high + room))
    axes.y_axis("unit, ms")
    axes.x_axis("time in the capture, s")
    drawing.line(
        axes.left,
        axes.y(nominal_ms),
        axes.left + axes.width,
        axes.y(nominal_ms),
        stroke=QUIET,
        stroke_width=0.25,
        stroke_dasharray="2 1.2",
    )
    drawing.text(axes.left + axes.width + 1.5, axes.y(nominal_ms) + 3.6, "nominal", size_mm=2.8, fill=QUIET)
    for line in known:
        step = max(1, len(line.units) // MOST_POINTS)
        points = line.units[::step]
        axes.curve(points, colour=LIGHT if line.phase == "as found" else INK, width=0.35)
        drawing.text(axes.x(points[-1][0]) + 1.5, axes.y(points[-1][1]) - 1.2, line.phase, size_mm=2.8)
    return drawing.svg()


def receiver_plot(lines: Sequence[LineFigures]) -> str:
    """Draw where a receiver may look, element by element: the wider the bar, the more margin."""
    drawing = Drawing(WIDTH_MM, 50, "Where in each element a receiver may look, as found and as left")
    elements = sorted({element for line in lines for element, _, _ in line.receiver})
    axes = Axes(drawing, LEFT_MM, 6, WIDTH_MM - LEFT_MM - RIGHT_MM, 32, (-50, 50), (len(elements) + 0.5, 0.5))
    axes.x_axis("% of a unit before (−) and after the middle of the element")
    drawing.line(axes.x(0), 6, axes.x(0), 38, stroke=QUIET, stroke_width=0.2, stroke_dasharray="1 1")
    for n, element in enumerate(elements, start=1):
        drawing.text(LEFT_MM - 3, axes.y(n) + 1, str(element), size_mm=3.0, text_anchor="end")
    for line in lines:
        found = line.phase == "as found"
        for element, low, high in line.receiver:
            y = axes.y(elements.index(element) + 1) + (-1.5 if found else 1.5)
            style = {"fill": INK} if found else {"fill": CARD, "stroke": INK, "stroke_width": 0.35}
            x_low, x_high = axes.x(max(-50.0, low)), axes.x(min(50.0, high))
            if x_high > x_low:
                drawing.rect(x_low, y - 1.0, x_high - x_low, 2.0, **style)
    _key(drawing, lines, 49, bars=False)
    return drawing.svg()


def tape_plot(tape: TapeFigures) -> str:
    """Draw the first rows of a tape at full size; a hole that is not cut clean is half filled with a bar through it."""
    rows = tape.rows[:ROWS_SHOWN]
    first, middle = 4 + END_MM, 13.0
    drawing = Drawing(WIDTH_MM, 30, f"The tape {tape.phase}, first {len(rows)} rows, 1:1")
    drawing.rect(4, middle - 7.5, WIDTH_MM - 8, 17.46, fill=CARD, stroke=QUIET, stroke_width=0.15)
    for n, row in enumerate(rows):
        x = first + n * GRID_MM
        drawing.circle(x, middle, FEED_HOLE_MM / 2, fill=INK)
        for track, (step, bit) in enumerate(zip(TRACK_STEPS, row.code, strict=True), start=1):
            if bit == "1":
                _hole(drawing, x, middle + step * GRID_MM, partial=track in row.partial)
        if n % 10 == 0:
            drawing.text(x, middle + 13, str(n), size_mm=2.4, fill=QUIET, text_anchor="middle")
    drawing.text(4, middle + 16.4, "rows of the picture; ring with a bar: not cut clean", size_mm=2.6, fill=QUIET)
    return drawing.svg()


def _hole(drawing: Drawing, x: float, y: float, *, partial: bool) -> None:
    if not partial:
        drawing.circle(x, y, CODE_HOLE_MM / 2, fill=INK)
        return
    drawing.circle(x, y, CODE_HOLE_MM / 2 - 0.15, fill=CARD, stroke=INK, stroke_width=0.3)
    drawing.line(x - 0.65, y + 0.65, x + 0.65, y - 0.65, stroke=INK, stroke_width=0.45)


def feed_plot(tapes: Sequence[TapeFigures]) -> str:
    """Draw how far each row lies from where an even feed would have put it, added up along the tape."""
    drawing = Drawing(WIDTH_MM, 50, "Feed error added up along the tape, as found and as left")
    curves = [(tape, _off_grid(tape)) for tape in tapes]
    reach = max([0.05, *(abs(v) for _, points in curves for _, v in points)]) * 1.15
    last = max((points[-1][0] for _, points in curves if points), default=1)
    axes = Axes(drawing, LEFT_MM, 8, WIDTH_MM - LEFT_MM - RIGHT_MM - 22, 28, (0, max(1, last)), (-reach, reach))
    axes.y_axis("mm from an even feed (too far is up)")
    axes.x_axis("row")
    for tape, points in curves:
        if len(points) > 1:
            axes.curve(points, colour=LIGHT if tape.phase == "as found" else INK, width=0.35)
            drawing.text(axes.x(points[-1][0]) + 1.5, axes.y(points[-1][1]) + 1, tape.phase, size_mm=2.8)
    return drawing.svg()


def _off_grid(tape: TapeFigures) -> list[tuple[float, float]]:
    """Return (row, mm off an even feed): what is left of the way along when a straight line is taken out."""
    along = [row.along_mm for row in tape.rows]
    n = len(along)
    if n < 3:
        return []
    mean_x, mean_y = (n - 1) / 2, sum(along) / n
    slope = sum((i - mean_x) * (y - mean_y) for i, y in enumerate(along)) / sum((i - mean_x) ** 2 for i in range(n))
    step = max(1, n // MOST_POINTS)
    return [(float(i), y - mean_y - slope * (i - mean_x)) for i, y in enumerate(along)][::step]


def has_contacts(line: LineFigures) -> bool:
    """Return whether a line has anything for the plot of contacts."""
    return any(_any(contact) for contact in line.contacts)


def _any(contact: ContactFigures) -> bool:
    return contact.closing is not None or contact.opening is not None
