"""International Telegraph Alphabet No. 2 (ITU-T S.1, 1988: 5-unit structure, repertoire and codes).

The code-to-letter-to-figure table agrees across two general codec libraries and one published
table; the numbering 1 to 32 and the Z/A polarity letters are from memory. The figures of F, G
and H are for national use, and are shown so instead of being guessed.
"""

from collections.abc import Mapping

from tapewright.alphabets.alphabet import Alphabet, Function, Sign

#: Combination number 1 to 32: code (element 1 first), letters case, figures case.
COMBINATIONS: tuple[tuple[str, Sign, Sign], ...] = (
    ("11000", "A", "-"),
    ("10011", "B", "?"),
    ("01110", "C", ":"),
    ("10010", "D", Function.WHO_ARE_YOU),
    ("10000", "E", "3"),
    ("10110", "F", Function.NATIONAL),
    ("01011", "G", Function.NATIONAL),
    ("00101", "H", Function.NATIONAL),
    ("01100", "I", "8"),
    ("11010", "J", Function.BELL),
    ("11110", "K", "("),
    ("01001", "L", ")"),
    ("00111", "M", "."),
    ("00110", "N", ","),
    ("00011", "O", "9"),
    ("01101", "P", "0"),
    ("11101", "Q", "1"),
    ("01010", "R", "4"),
    ("10100", "S", "'"),
    ("00001", "T", "5"),
    ("11100", "U", "7"),
    ("01111", "V", "="),
    ("11001", "W", "2"),
    ("10111", "X", "/"),
    ("10101", "Y", "6"),
    ("10001", "Z", "+"),
    ("00010", Function.CARRIAGE_RETURN, Function.CARRIAGE_RETURN),
    ("01000", Function.LINE_FEED, Function.LINE_FEED),
    ("11111", Function.LETTER_SHIFT, Function.LETTER_SHIFT),
    ("11011", Function.FIGURE_SHIFT, Function.FIGURE_SHIFT),
    ("00100", Function.SPACE, Function.SPACE),
    ("00000", Function.BLANK, Function.BLANK),
)


def case_of(figures: bool, changed: Mapping[str, Sign] | None = None) -> dict[str, Sign]:
    """Return one case as code to sign, with some positions changed (keyed by letter)."""
    changed = changed or {}
    return {code: changed.get(str(letter), figure) if figures else letter for code, letter, figure in COMBINATIONS}


ITA2 = Alphabet("ITA2", case_of(figures=False), case_of(figures=True), source="ITU-T S.1 (1988)")
