"""A small SVG writer: what reports, `--out-plot`, drawn tapes and the page share.

Lengths are millimetres on paper, so that a drawn tape can lie beside a real one; y grows downwards.
Colours are the tokens of our own look; they mean nothing alone, shape and word carry the state.
"""

from collections.abc import Iterable
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
        """Give the whole document."""
        width, height = number(self.width_mm), number(self.height_mm)
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
            f'viewBox="0 0 {width} {height}" role="img">'
        )
        return "\n".join([head, f"<title>{escape(self.title)}</title>", *self._parts, "</svg>\n"])


def _stroke(style: dict[str, Attribute]) -> dict[str, Attribute]:
    plain: dict[str, Attribute] = {"stroke": INK, "stroke_width": 0.3}
    return plain | style
