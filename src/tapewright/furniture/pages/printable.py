"""Text that anybody wrote, as a page can hold it: every sign stands, or is named; nothing runs off the page.

    grinning face > [U+1F600 grinning face]        a control sign > [U+0007]        a word of 60 letters may break

The typesetting library has its own letters and no others; one sign beyond them would stop the whole document, and some
combining signs stop the library itself. So what it is known to set (a test sets every one of them) is a table, and all
else is written out.

The four states as shapes that read in black and white: word and shape carry them, colour only helps.

within      a filled plate, a notch cut out of its top edge      proved
suspect     a plate with a slanted side
outside     a plate broken in two
not shown   a dotted outline
"""

import unicodedata
from bisect import bisect_right
from collections.abc import Iterator
from itertools import pairwise

from tapewright.furniture.plot import NOT_SHOWN, OUTSIDE, PROVED, SUSPECT, Drawing

#: first and last code point of each run that the two fonts of the library hold
HOLDS: tuple[tuple[int, int], ...] = (
    (0x20, 0x7E), (0xA0, 0xAC), (0xAE, 0x2FF), (0x370, 0x377), (0x384, 0x38A), (0x38E, 0x3A1), (0x3A3, 0x482),
    (0x48A, 0x4FF), (0x1E00, 0x1EFF), (0x2010, 0x2026), (0x2030, 0x2040), (0x2044, 0x2052), (0x2074, 0x208E),
    (0x20A0, 0x20BF), (0x2126, 0x2151), (0x2190, 0x23FF), (0x2423, 0x2423), (0x2500, 0x262F),
)  # fmt: skip
_FIRST = [first for first, _ in HOLDS]
#: Longer than this without a place to break, a word gets one.
LONGEST_WORD = 24
MAY_BREAK = "\u200b"


def printable(text: str, *, may_break: bool = True) -> str:
    """Return a text that the page can hold; ends of line become spaces where they are single, else stay.

    Args:
        text: anything.
        may_break: put places to break into long words (invisible, zero wide).
    """
    composed = unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\t", " "))
    written = "".join(sign if sign == "\n" or _held(sign) else _named(sign) for sign in composed)
    return "".join(_breakable(written)) if may_break else written


def _held(sign: str) -> bool:
    place = bisect_right(_FIRST, ord(sign)) - 1
    return place >= 0 and ord(sign) <= HOLDS[place][1] and not unicodedata.combining(sign)


def _named(sign: str) -> str:
    name = unicodedata.name(sign, "").lower()
    return f"[U+{ord(sign):04X}{f' {name}' if name else ''}]"


def _breakable(text: str) -> Iterator[str]:
    run = 0
    for sign, after in pairwise([*text, " "]):
        yield sign
        run = 0 if sign.isspace() else run + 1
        if run >= LONGEST_WORD and not after.isspace():
            yield MAY_BREAK
            run = 0


WIDE_MM, HIGH_MM = 4.6, 3.0

#: state -> (path in millimetres, colour, filled)
SHAPES: dict[str, tuple[str, str, bool]] = {
    "within": ("M0.2 0.3 H1.7 L2.3 1.3 L2.9 0.3 H4.4 V2.7 H0.2 Z", PROVED, True),
    "suspect": ("M0.2 0.3 H3.2 L4.4 2.7 H0.2 Z", SUSPECT, True),
    "outside": ("M0.2 0.3 H2.4 L1.6 1.5 L2.2 2.7 H0.2 Z M3.2 0.3 H4.4 V2.7 H3.0 L2.4 1.5 Z", OUTSIDE, True),
    "not shown": ("M0.3 0.4 H4.3 V2.6 H0.3 Z", NOT_SHOWN, False),
}


def shape_svg(state: str) -> str:
    """Return the shape of a state as a small drawing.

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
