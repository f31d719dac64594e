"""Two machines side by side as a picture: one panel a unit, each difference with its expanded uncertainty, zero marked.

Picture:

    contacts, ms               |
    closing of contact 3, late |              |---o---|     filled: differs
    closing of contact 1, late |-o-|                        ring: no difference shown
                               0        1
"""

from collections.abc import Callable, Sequence

from tapewright.book.side_by_side.compare_machines import Compared
from tapewright.book.side_by_side.difference import Row, State
from tapewright.book.side_by_side.text import heading, shown, signed
from tapewright.furniture.plot import CARD, INK, QUIET, Drawing, nice_ticks

WIDTH_MM, NAMES_MM, FIGURES_MM, ROW_MM = 190.0, 62.0, 138.0, 5.6
HEAD_MM, PANEL_HEAD_MM, PANEL_FOOT_MM = 24.0, 9.0, 10.0


def side_by_side_plot(compared: Compared) -> str:
    """Return the picture as an SVG document."""
    panels = _panels(compared.result.rows)
    height = HEAD_MM + sum(PANEL_HEAD_MM + ROW_MM * len(rows) + PANEL_FOOT_MM for rows in panels.values())
    height += ROW_MM * (len(_wordy(compared.result.rows)) + 1)
    title = f"{heading(compared.a)} (A) and {heading(compared.b)} (B)"
    drawing = Drawing(WIDTH_MM, max(height, 40.0), title)
    drawing.rect(0, 0, WIDTH_MM, max(height, 40.0), fill=CARD)
    drawing.text(8, 9, title, size_mm=4.2, font_weight="600")
    words = "B less A with ± 2u. Filled: differs. Ring: no difference shown. To the right of zero: larger on B."
    drawing.text(8, 15, words, size_mm=3.0, fill=QUIET)
    if not panels:
        drawing.text(8, 26, "There is nothing that can be compared.")
    top = HEAD_MM
    for name, rows in panels.items():
        top = _panel(drawing, name, rows, top)
    _without_number(drawing, compared.result.rows, top)
    return drawing.svg()


def _without_number(drawing: Drawing, rows: Sequence[Row], top: float) -> None:
    """Write what differs and has no number: yes against no, an open go/no-go pair."""
    for i, row in enumerate(_wordy(rows)):
        words = f"{row.figure.what}: A {shown(row.a)}, B {shown(row.b)}"
        drawing.text(8, top + 4 + ROW_MM * i, words, size_mm=2.9, font_weight="600")


def _wordy(rows: Sequence[Row]) -> list[Row]:
    return [row for row in rows if row.state is State.DIFFERS and row.difference is None]


def _panels(rows: Sequence[Row]) -> dict[str, list[Row]]:
    """Group the rows that have a difference with a number by group and unit, in the order they come."""
    panels: dict[str, list[Row]] = {}
    for row in rows:
        if row.difference is not None and row.difference.value is not None:
            panels.setdefault(f"{row.figure.group.value}, {row.difference.unit}", []).append(row)
    return panels


def _panel(drawing: Drawing, name: str, rows: Sequence[Row], top: float) -> float:
    """Draw one panel; give where the next begins."""
    first, foot = top + PANEL_HEAD_MM, top + PANEL_HEAD_MM + ROW_MM * len(rows)
    low, high = _range(rows)

    def x(value: float) -> float:
        return NAMES_MM + (FIGURES_MM - NAMES_MM) * (value - low) / (high - low)

    drawing.text(8, top + 4, name, size_mm=3.4, font_weight="600")
    drawing.line(x(0), first - 2, x(0), foot, stroke=QUIET, stroke_width=0.25)
    for tick in nice_ticks(low, high):
        drawing.line(x(tick), foot, x(tick), foot + 1.2, stroke=QUIET, stroke_width=0.2)
        drawing.text(x(tick), foot + 4.4, f"{tick:g}", size_mm=2.8, fill=QUIET, text_anchor="middle")
    drawing.line(x(low), foot, x(high), foot, stroke=QUIET, stroke_width=0.2)
    for i, row in enumerate(rows):
        _row(drawing, row, first + ROW_MM * (i + 0.5), x)
    return foot + PANEL_FOOT_MM


def _range(rows: Sequence[Row]) -> tuple[float, float]:
    ends = [0.0]
    for row in rows:
        if row.difference is not None:
            value, expanded = row.difference.value or 0.0, row.difference.expanded or 0.0
            ends += [value - expanded, value + expanded]
    low, high = min(ends), max(ends)
    room = 0.04 * (high - low) or 1.0
    return low - room, high + room


def _row(drawing: Drawing, row: Row, y: float, x: Callable[[float], float]) -> None:
    d = row.difference
    if d is None or d.value is None:
        return
    expanded, differs = d.expanded or 0.0, row.state is State.DIFFERS
    drawing.text(NAMES_MM - 3, y + 1, row.figure.what, size_mm=2.9, fill=INK if differs else QUIET, text_anchor="end")
    drawing.line(x(d.value - expanded), y, x(d.value + expanded), y, stroke_width=0.4)
    for end in (d.value - expanded, d.value + expanded):
        drawing.line(x(end), y - 0.9, x(end), y + 0.9, stroke_width=0.4)
    drawing.circle(x(d.value), y, 1.0, fill=INK if differs else CARD, stroke=INK, stroke_width=0.35)
    weight = "600" if differs else None
    drawing.text(FIGURES_MM + 4, y + 1, signed(d), size_mm=2.9, fill=INK if differs else QUIET, font_weight=weight)
