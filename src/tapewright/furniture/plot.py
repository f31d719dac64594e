"""Axes for our plots: no box, axis at the data, unit on the axis, zero marked, uncertainty always drawn.

A plot is a rectangle on a Drawing with a linear scale in x and in y. It maps data to paper, draws its
ticks, and leaves everything else to the Drawing.

A small SVG writer: what reports, `--out-plot`, drawn tapes and the page share.

Lengths are millimetres on paper, so that a drawn tape can lie beside a real one; y grows downwards.
Colours are the tokens of our own look; they mean nothing alone, shape and word carry the state.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from xml.sax.saxutils import escape, quoteattr

INK, QUIET, GROUND, CARD = "#22262B", "#5A5F66", "#F6F0E2", "#FFFDF7"
BRASS, PROVED, SUSPECT, OUTSIDE, NOT_SHOWN = "#8A6116", "#1F5E54", "#7A4B00", "#97290F", "#5A5F66"
FONT = "system-ui, 'DejaVu Sans', sans-serif"

Attribute = str | float | None
OPEN: dict[str, Attribute] = {"fill": "none", "stroke_linejoin": "round"}
FILLED: dict[str, Attribute] = {"fill": INK}


def number(value: float) -> str:
    """Write a length with at most four decimals and no trailing zeros."""
    return f"{value:.4f}".rstrip("0").rstrip(".") or "0"


@dataclass(slots=True)
class Drawing:
    """A picture that is written piece by piece.

    Attributes:
        width_mm: width on paper.
        height_mm: height on paper.
        title: what the picture is, for people who cannot see it.
    """

    width_mm: float
    height_mm: float
    title: str
    _parts: list[str] = field(default_factory=list)

    def add(self, tag: str, text: str | None = None, /, **attributes: Attribute) -> None:
        """Add one element; `stroke_width=0.3` becomes `stroke-width="0.3"`, None leaves an attribute out."""
        written = "".join(
            f" {name.rstrip('_').replace('_', '-')}={quoteattr(number(v) if isinstance(v, int | float) else v)}"
            for name, v in attributes.items()
            if v is not None
        )
        self._parts.append(f"<{tag}{written}/>" if text is None else f"<{tag}{written}>{escape(text)}</{tag}>")

    def line(self, x1: float, y1: float, x2: float, y2: float, **style: Attribute) -> None:
        """Draw a straight line."""
        self.add("line", x1=x1, y1=y1, x2=x2, y2=y2, **_stroke(style))

    def polyline(self, points: Iterable[tuple[float, float]], **style: Attribute) -> None:
        """Draw an open run of lines."""
        joined = " ".join(f"{number(x)},{number(y)}" for x, y in points)
        self.add("polyline", points=joined, **(OPEN | _stroke(style)))

    def rect(self, x: float, y: float, width: float, height: float, **style: Attribute) -> None:
        """Draw a filled rectangle."""
        self.add("rect", x=x, y=y, width=width, height=height, **(FILLED | style))

    def circle(self, x: float, y: float, r: float, **style: Attribute) -> None:
        """Draw a filled circle."""
        self.add("circle", cx=x, cy=y, r=r, **(FILLED | style))

    def path(self, d: str, **style: Attribute) -> None:
        """Draw a path given in SVG's own path words."""
        self.add("path", d=d, **(OPEN | _stroke(style)))

    def text(self, x: float, y: float, text: str, *, size_mm: float = 3.2, **style: Attribute) -> None:
        """Write text with its baseline at y; `text_anchor` is "start", "middle" or "end"."""
        plain: dict[str, Attribute] = {"fill": INK, "font_family": FONT, "font_size": size_mm}
        self.add("text", text, x=x, y=y, **(plain | style))

    def svg(self) -> str:
        """Return the whole document."""
        width, height = number(self.width_mm), number(self.height_mm)
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
            f'viewBox="0 0 {width} {height}" role="img">'
        )
        return "\n".join([head, f"<title>{escape(self.title)}</title>", *self._parts, "</svg>\n"])


def _stroke(style: dict[str, Attribute]) -> dict[str, Attribute]:
    plain: dict[str, Attribute] = {"stroke": INK, "stroke_width": 0.3}
    return plain | style


TICK_STEPS = (1.0, 2.0, 5.0, 10.0)


def nice_ticks(low: float, high: float, wanted: int = 6) -> list[float]:
    """Return tick values at 1, 2 or 5 times a power of ten that lie in [low, high] (about `wanted` of them)."""
    if not high > low:
        return [low]
    raw = (high - low) / max(wanted, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(power * s for s in TICK_STEPS if power * s >= raw * 0.999)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [round(n * step, 12) for n in range(first, last + 1)]


@dataclass(frozen=True, slots=True)
class Axes:
    """A plot area on paper with its data range.

    Attributes:
        drawing: what to draw on.
        left: x of the area's left edge, mm.
        top: y of its top edge, mm.
        width: its width, mm.
        height: its height, mm.
        x_range: data at the left and the right edge.
        y_range: data at the bottom and the top edge.
    """

    drawing: Drawing
    left: float
    top: float
    width: float
    height: float
    x_range: tuple[float, float]
    y_range: tuple[float, float]

    def x(self, value: float) -> float:
        """Return the place on paper of a data x."""
        low, high = self.x_range
        return self.left + self.width * (value - low) / ((high - low) or 1.0)

    def y(self, value: float) -> float:
        """Return the place on paper of a data y."""
        low, high = self.y_range
        return self.top + self.height * (1 - (value - low) / ((high - low) or 1.0))

    def x_axis(self, label: str, ticks: Sequence[float] | None = None) -> None:
        """Draw the x axis at the foot of the area, its label with the unit at the right end."""
        foot = self.top + self.height
        self.drawing.line(self.left, foot, self.left + self.width, foot, stroke=QUIET, stroke_width=0.2)
        for tick in nice_ticks(*self.x_range) if ticks is None else ticks:
            self.drawing.line(self.x(tick), foot, self.x(tick), foot + 1.2, stroke=QUIET, stroke_width=0.2)
            self.drawing.text(self.x(tick), foot + 4.4, f"{tick:g}", size_mm=2.8, fill=QUIET, text_anchor="middle")
        self.drawing.text(self.left + self.width, foot + 8.2, label, size_mm=2.8, fill=QUIET, text_anchor="end")

    def y_axis(self, label: str, ticks: Sequence[float] | None = None) -> None:
        """Draw the y axis at the left of the area, its label with the unit on top; zero as a fine line."""
        for tick in nice_ticks(*self.y_range, 4) if ticks is None else ticks:
            at = self.y(tick)
            self.drawing.line(self.left - 1.2, at, self.left, at, stroke=QUIET, stroke_width=0.2)
            self.drawing.text(self.left - 1.8, at + 1.0, f"{tick:g}", size_mm=2.8, fill=QUIET, text_anchor="end")
        if self.y_range[0] < 0 < self.y_range[1]:
            right, zero = self.left + self.width, self.y(0)
            self.drawing.line(self.left, zero, right, zero, stroke=QUIET, stroke_width=0.15, stroke_dasharray="1 1")
        self.drawing.text(self.left - 8, self.top - 2.2, label, size_mm=2.8, fill=QUIET)

    def curve(self, points: Iterable[tuple[float, float]], colour: str = INK, width: float = 0.35) -> None:
        """Draw data as a run of lines."""
        self.drawing.polyline(((self.x(x), self.y(y)) for x, y in points), stroke=colour, stroke_width=width)

    def interval(self, x: float, y: float, expanded: float, colour: str = INK) -> None:
        """Draw a value as a dot with its expanded uncertainty as a bar with ends."""
        low, high, at = self.y(y - expanded), self.y(y + expanded), self.x(x)
        self.drawing.line(at, low, at, high, stroke=colour, stroke_width=0.4)
        for end in (low, high):
            self.drawing.line(at - 0.8, end, at + 0.8, end, stroke=colour, stroke_width=0.4)
        self.drawing.circle(at, self.y(y), 0.8, fill=colour)
