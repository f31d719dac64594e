"""The four states as shapes that read in black and white: word and shape carry them, colour only helps.

within      a filled plate, a notch cut out of its top edge      proved
suspect     a plate with a slanted side
outside     a plate broken in two
not shown   a dotted outline
"""

from tapewright.adapters.reports.svg import NOT_SHOWN, OUTSIDE, PROVED, SUSPECT, Drawing

WIDE_MM, HIGH_MM = 4.6, 3.0

#: state -> (path in millimetres, colour, filled)
SHAPES: dict[str, tuple[str, str, bool]] = {
    "within": ("M0.2 0.3 H1.7 L2.3 1.3 L2.9 0.3 H4.4 V2.7 H0.2 Z", PROVED, True),
    "suspect": ("M0.2 0.3 H3.2 L4.4 2.7 H0.2 Z", SUSPECT, True),
    "outside": ("M0.2 0.3 H2.4 L1.6 1.5 L2.2 2.7 H0.2 Z M3.2 0.3 H4.4 V2.7 H3.0 L2.4 1.5 Z", OUTSIDE, True),
    "not shown": ("M0.3 0.4 H4.3 V2.6 H0.3 Z", NOT_SHOWN, False),
}


def shape_svg(state: str) -> str:
    """Give the shape of a state as a small drawing.

    Raises:
        KeyError: for a state that is none of the four.
    """
    path, colour, filled = SHAPES[state]
    drawing = Drawing(WIDE_MM, HIGH_MM, state)
    if filled:
        drawing.path(path, fill=colour, stroke=None, stroke_width=None)
    else:
        drawing.path(path, stroke=colour, stroke_width=0.35, stroke_dasharray="0.5 0.5")
    return drawing.svg()
