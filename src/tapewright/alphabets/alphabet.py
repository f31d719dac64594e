"""The type: a five-unit alphabet, 32 codes, two cases each, checked on itself."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum


class Function(Enum):
    """A code that does something instead of printing (terms as in ITU-T S.1, S.140)."""

    LETTER_SHIFT = "LTRS"
    FIGURE_SHIFT = "FIGS"
    CARRIAGE_RETURN = "CR"
    LINE_FEED = "LF"
    SPACE = "SP"
    BLANK = "BLANK"
    WHO_ARE_YOU = "WRU"
    BELL = "BEL"
    NATIONAL = "NATIONAL"


#: What one position of one case does: print a character, or a function.
Sign = str | Function

#: How a function stands in decoded text, so that nothing is hidden and nothing is invented.
SHOWN: Mapping[Function, str] = {
    Function.LETTER_SHIFT: "",
    Function.FIGURE_SHIFT: "",
    Function.CARRIAGE_RETURN: "\r",
    Function.LINE_FEED: "\n",
    Function.SPACE: " ",
    Function.BLANK: "\N{OPEN BOX}",
    Function.WHO_ARE_YOU: "\N{SYMBOL FOR ENQUIRY}",
    Function.BELL: "\N{SYMBOL FOR BELL}",
    Function.NATIONAL: "\N{WHITE SQUARE}",
}


@dataclass(frozen=True, slots=True)
class Alphabet:
    """32 codes with their meaning in letters and in figures case.

    Attributes:
        name: as reports print it.
        letters: code ("11000", element 1 first) to sign in letters case; all 32 codes.
        figures: the same in figures case.
        source: where the table comes from.

    Raises:
        ValueError: when a case does not hold exactly the 32 codes, or a printed character stands twice in it.
    """

    name: str
    letters: Mapping[str, Sign]
    figures: Mapping[str, Sign]
    source: str
    _codes: dict[tuple[str, bool], str] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        every = {format(number, "05b") for number in range(32)}
        for case in (self.letters, self.figures):
            if set(case) != every:
                raise ValueError(f"{self.name}: a case must hold exactly the 32 codes")
            printed = [sign for sign in case.values() if isinstance(sign, str)]
            if len(set(printed)) != len(printed):
                raise ValueError(f"{self.name}: a character stands twice in one case")
        codes = {(sign, False): code for code, sign in self.letters.items() if isinstance(sign, str)}
        codes |= {(sign, True): code for code, sign in self.figures.items() if isinstance(sign, str)}
        object.__setattr__(self, "_codes", codes)

    def code_of(self, character: str, *, figures: bool) -> str | None:
        """Return the code that prints `character` in that case, None when that case lacks it."""
        return self._codes.get((character, figures))

    def code_of_function(self, function: Function) -> str | None:
        """Return the code of a function that is the same in both cases, or of a figures-case function."""
        return next((code for code, sign in self.figures.items() if sign is function), None)

    def letter(self, code: str) -> str:
        """Name a code by its letters case: "A", "LTRS", "SP" ..., as a mechanic names a key."""
        sign = self.letters[code]
        return sign if isinstance(sign, str) else sign.value


def reversed_order(code: str) -> str:
    """Return the code as it reads with the element order reversed (tape read backwards, wires in wrong order)."""
    return code[::-1]


def complement(code: str) -> str:
    """Return the code as it reads with mark and space exchanged."""
    return code.translate(str.maketrans("01", "10"))
