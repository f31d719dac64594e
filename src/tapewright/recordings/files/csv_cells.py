"""One cell of a table of text: a number, a level in words, or not known."""

import math
import re
from functools import lru_cache

from tapewright.recordings.files.time_stamps import stamp_seconds

LEVELS_IN_WORDS = {
    **dict.fromkeys(("high", "h", "hi", "true", "t", "on", "mark", "closed", "yes", "up"), 1.0),
    **dict.fromkeys(("low", "l", "lo", "false", "f", "off", "space", "open", "no", "down"), 0.0),
    **dict.fromkeys(("", "x", "z", "u", "nan", "null", "none", "n/a", "-", "--", "?"), math.nan),
}
_POINT = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_COMMA = re.compile(r"[+-]?(\d+,?\d*|,\d+)([eE][+-]?\d+)?")


@lru_cache(maxsize=65_536)
def cell_value(cell: str, decimal: str, since: int = 0) -> float | None:
    """Return the number in a cell (NaN for a level not known, a stamp in seconds), None when it is none of these.

    Args:
        cell: as written.
        decimal: "." or ",".
        since: the moment from which stamps are counted.
    """
    cell = bare_cell(cell)
    pattern = _COMMA if decimal == "," else _POINT
    if pattern.fullmatch(cell):
        return float(cell.replace(",", "."))
    if ":" in cell:
        return stamp_seconds(cell, since)
    return LEVELS_IN_WORDS.get(cell.casefold())


def bare_cell(cell: str) -> str:
    """Return a cell without quotes and the space around it."""
    return cell.strip().strip('"').strip("'").strip()


def is_number(cell: str, decimal: str) -> bool:
    """Return whether a cell is written in digits."""
    cell = cell.strip().strip('"').strip()
    return (_COMMA if decimal == "," else _POINT).fullmatch(cell) is not None
