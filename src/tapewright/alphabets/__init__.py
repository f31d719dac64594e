"""Five-unit alphabets: code to character, shift as a complete table. Element 1 is sent first; 1 = mark = hole."""

from tapewright.alphabets.alphabet import Alphabet, Function, Sign
from tapewright.alphabets.ita2 import ITA2
from tapewright.alphabets.shift import Kind, Shift, decode, encode
from tapewright.alphabets.us_commercial import US_COMMERCIAL

#: name on the command line -> alphabet. To add one: a file beside ita2.py and a line here.
ALPHABETS: dict[str, Alphabet] = {"ita2": ITA2, "us": US_COMMERCIAL}

__all__ = [
    "ALPHABETS",
    "ITA2",
    "US_COMMERCIAL",
    "Alphabet",
    "Function",
    "Kind",
    "Shift",
    "Sign",
    "decode",
    "encode",
]
