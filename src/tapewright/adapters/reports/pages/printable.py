"""Text that anybody wrote, as a page can hold it: every sign stands, or is named; nothing runs off the page.

    grinning face > [U+1F600 grinning face]        a control sign > [U+0007]        a word of 60 letters may break

The typesetting library has its own letters and no others; one sign beyond them would stop the whole document, and some
combining signs stop the library itself. So what it is known to set (a test sets every one of them) is a table, and all
else is written out.
"""

import unicodedata
from bisect import bisect_right
from collections.abc import Iterator
from itertools import pairwise

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
    """Give a text that the page can hold; ends of line become spaces where they are single, else stay.

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
