r"""The suppressor as it is wired, with its polarity: a few lines of text, and a small picture.

Which end the band of a diode looks at decides whether it takes the coil's energy, does nothing, or shorts the supply:

    across the coil      a diode's band looks at the plus end: with current on it blocks, on opening it conducts.
                         A zener beside it looks the other way. Without that diode a zener is a plain diode one way
                         round and a short circuit the other.
    across the contact   a zener's band looks at the coil; the contact only ever stands at plus, so no diode is needed.
    rc                   no polarity.

Kirchhoff's laws and the arrow of a diode; any textbook.
"""

from dataclasses import dataclass

from tapewright.coil.drive.drive import Kind, Suppressor
from tapewright.furniture.plot import BRASS, GROUND, INK, Drawing

WIDTH_MM, HEIGHT_MM = 78.0, 66.0


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the suppressor, from its upper end down.

    Attributes:
        name: what it is.
        band: "up" or "down", where it has one.
        value: what it is chosen as; may be empty.
    """

    name: str
    band: str = ""
    value: str = ""

    def __str__(self) -> str:
        """Name it with its value and band."""
        value = f" {self.value}" if self.value else ""
        return f"{self.name}{value}" + (f", band {self.band}" if self.band else "")


def parts_of(part: Suppressor) -> tuple[Part, ...]:
    """Return the parts of a suppressor, from the plus end down."""
    ohm, clamp = f"{part.r_ohm:.4g} ohm", f"{part.volts:.4g} V"
    if part.kind is Kind.DIODE:
        return (Part("diode", "up"),)
    if part.kind is Kind.DIODE_R:
        return (Part("resistor", value=ohm), Part("diode", "up"))
    if part.kind is Kind.ZENER:
        if part.across_contact:
            return (Part("zener", "up", clamp),)
        return (Part("blocking diode", "up"), Part("zener", "down", clamp))
    if part.kind is Kind.RC:
        return (Part("resistor", value=ohm), Part("capacitor", value=f"{part.c_f * 1e6:.4g} uF"))
    return ()


def circuit_lines(part: Suppressor, *, high_side: bool) -> tuple[str, ...]:
    """Return the circuit as lines of text, plus at the top."""
    parts = parts_of(part)
    coil, switch = [["coil"], ["switch"]]
    for at in (switch,) if part.across_contact else (coil,):
        at += [str(each) for each in parts]
    branches = [switch, coil] if high_side else [coil, switch]
    lines = [" +  supply, series resistor", " |"]
    for branch in branches:
        lines += _branch(branch)
    return (*lines, " -  supply")


def _branch(branch: list[str]) -> list[str]:
    """Return one element, with what lies across it beside it."""
    own, *beside = branch
    if not beside:
        return [f"[{own}]", " |"]
    head, foot = " +-----------+", " +-----------+"
    middle = [f" |           [{each}]" for each in beside]
    middle[len(beside) // 2] = f"[{own}]".ljust(13) + f"[{beside[len(beside) // 2]}]"
    return [head, *middle, foot, " |"]


def circuit_picture(part: Suppressor, *, high_side: bool) -> str:
    """Return the circuit as a small SVG, plus at the top."""
    drawing = Drawing(WIDTH_MM, HEIGHT_MM, f"How it is wired: {part}")
    drawing.rect(0, 0, WIDTH_MM, HEIGHT_MM, fill=GROUND)
    left, right, top, bottom = 14.0, 34.0, 6.0, 60.0
    drawing.text(left - 6, top + 1, "+")
    drawing.text(left - 6, bottom + 1, "-")
    upper, lower = ("switch", "coil") if high_side else ("coil", "switch")
    rows = {upper: (10.0, 32.0), lower: (36.0, 58.0)}
    drawing.line(left, top, left, bottom)
    for name, (above, below) in rows.items():
        _box(drawing, left, (above + below) / 2, name)
        parts = parts_of(part) if (name == "switch") is part.across_contact else ()
        if not parts:
            continue
        drawing.polyline([(left, above), (right, above), (right, below), (left, below)])
        step = (below - above) / len(parts)
        for number, each in enumerate(parts):
            _symbol(drawing, right, above + (number + 0.5) * step, each)
    return drawing.svg()


def _box(drawing: Drawing, x: float, y: float, name: str) -> None:
    drawing.rect(x - 4.5, y - 3, 9, 6, fill=GROUND, stroke=INK, stroke_width=0.3)
    drawing.text(x, y + 1, name, size_mm=2.6, text_anchor="middle")


def _symbol(drawing: Drawing, x: float, y: float, part: Part) -> None:
    if part.band:
        # the triangle points at the band
        tip, foot = (y - 2.2, y + 2.2) if part.band == "up" else (y + 2.2, y - 2.2)
        drawing.path(f"M {x - 2.2} {foot} L {x + 2.2} {foot} L {x} {tip} Z", fill=INK)
        drawing.line(x - 2.4, tip, x + 2.4, tip, stroke_width=0.6)
        if part.name == "zener":
            drawing.line(x - 2.4, tip, x - 3.2, tip + 0.8, stroke_width=0.6)
            drawing.line(x + 2.4, tip, x + 3.2, tip - 0.8, stroke_width=0.6)
    elif part.name == "capacitor":
        drawing.rect(x - 3, y - 0.7, 6, 1.4, fill=GROUND)
        for side in (-0.7, 0.7):
            drawing.line(x - 3, y + side, x + 3, y + side, stroke_width=0.5)
    else:
        drawing.rect(x - 1.6, y - 3, 3.2, 6, fill=GROUND, stroke=INK, stroke_width=0.3)
    drawing.text(x + 5, y + 1, str(part), size_mm=2.6, fill=BRASS if part.band else INK)
