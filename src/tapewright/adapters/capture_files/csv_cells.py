"""One cell of a table of text: a number, a level in words, or not known."""

import math
import re
from functools import lru_cache

LEVELS_IN_WORDS = {
    **dict.fromkeys(("high", "h", "hi", "true", "t", "on", "mark", "closed", "yes", "up"), 1.0),
    **dict.fromkeys(("low", "l", "lo", "false", "f", "off", "space", "open", "no", "down"), 0.0),
    **dict.fromkeys(("", "x", "z", "u", "nan", "null", "none", "n/a", "-", "--", "?"), math.nan),
}
_POINT = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_COMMA = re.compile(r"[+-]?(\d+,?\d*|,\d+)([eE][+-]?\d+)?")


@lru_cache(maxsize=65_536)
def cell_value(cell: str, decimal: str) -> float | None:
    """Give the number in a cell (NaN for a level not known), None when it is neither number nor level."""
    cell = cell.strip().strip('"').strip("'").strip()
    pattern = _COMMA if decimal == "," else _POINT
    if pattern.fullmatch(cell):
        return float(cell.replace(",", "."))
    return LEVELS_IN_WORDS.get(cell.casefold())


def is_number(cell: str, decimal: str) -> bool:
    """Say whether a cell is written in digits."""
    cell = cell.strip().strip('"').strip()
    return (_COMMA if decimal == "," else _POINT).fullmatch(cell) is not None
