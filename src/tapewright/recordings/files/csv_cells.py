r"""One cell of a table of text: a number, a level in words, a moment, a hexadecimal word, or a level not known.

Picture of a moment (ISO 8601 and the usual departures from it):

    2031-05-04T20:15:07.123456+01:00      date and clock; "T" or a space; "Z", an offset, or nothing
    20:15:07,123                          clock alone; past midnight it begins anew

Seconds are counted from the file's first stamp, so that no digits are lost to the years.
"""

import math
import re
from datetime import date
from functools import lru_cache

import numpy as np
import numpy.typing as npt

#: what instruments write in place of a number beyond their range
OVERLOAD = ("inf", "+inf", "-inf", "infinity", "-infinity", "ol", "+ol", "-ol", "ovl", "over", "overload", "overrange")
LEVELS_IN_WORDS = {
    **dict.fromkeys(("high", "h", "hi", "true", "t", "on", "mark", "closed", "yes", "up"), 1.0),
    **dict.fromkeys(("low", "l", "lo", "false", "f", "off", "space", "open", "no", "down"), 0.0),
    **dict.fromkeys(("", "x", "z", "u", "nan", "null", "none", "n/a", "-", "--", "?", *OVERLOAD), math.nan),
}
_POINT = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_COMMA = re.compile(r"[+-]?(\d+,?\d*|,\d+)([eE][+-]?\d+)?")
_HEX = re.compile(r"(0[xX])?[0-9a-fA-F]{1,13}")
_CLOCK = r"(?P<h>[01]?\d|2[0-3]):(?P<m>[0-5]\d):(?P<s>[0-5]\d|60)(?:[.,](?P<part>\d{1,12}))?"
_STAMP = re.compile(
    rf"(?:(?P<day>\d{{4}}-\d\d-\d\d)[T ]\s*)?{_CLOCK}\s*(?P<zone>Z|[+-]\d\d(?::?\d\d)?)?", re.IGNORECASE
)
DAY_S, A_SECOND = 86_400, 10**12


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
        at = stamp_moment(cell)
        return None if at is None else (at - since) / A_SECOND
    return hex_value(cell) if cell[:2] in ("0x", "0X") else LEVELS_IN_WORDS.get(cell.casefold())


def hex_value(cell: str) -> float | None:
    """Return a word of up to thirteen hexadecimal digits (52 bits), with 0x or without; None when it is none."""
    cell = bare_cell(cell)
    return float(int(cell, 16)) if _HEX.fullmatch(cell) else None


def bare_cell(cell: str) -> str:
    """Return a cell without quotes and the space around it."""
    return cell.strip().strip('"').strip("'").strip()


def is_number(cell: str, decimal: str) -> bool:
    """Return whether a cell is written in digits."""
    return (_COMMA if decimal == "," else _POINT).fullmatch(bare_cell(cell)) is not None


def stamp_moment(cell: str) -> int | None:
    """Return a stamp in picoseconds, from the calendar's first day on or, of a clock alone, from midnight on."""
    found = _STAMP.fullmatch(cell)
    if found is None:
        return None
    day = 0
    if found["day"]:
        try:
            day = date.fromisoformat(found["day"]).toordinal()
        except ValueError:
            return None
    clock_s = int(found["h"]) * 3600 + int(found["m"]) * 60 + int(found["s"]) - _offset_s(found["zone"])
    return (day * DAY_S + clock_s) * A_SECOND + int((found["part"] or "").ljust(12, "0"))


def past_midnight(times_s: npt.NDArray[np.float64], before_s: float | None) -> npt.NDArray[np.float64]:
    """Return clock times, shape (n,), that do not begin anew at midnight; `before_s` is the last of those before."""
    if not times_s.size:
        return times_s
    known = times_s if before_s is None else np.concatenate([[before_s], times_s])
    with np.errstate(invalid="ignore"):
        days = np.round(-np.diff(known, prepend=known[0]) / DAY_S)
    whole = np.asarray(known + DAY_S * np.cumsum(np.where(np.isfinite(days), days, 0.0)), float)
    return whole if before_s is None else whole[1:]


def _offset_s(zone: str | None) -> int:
    if not zone or zone in "Zz":
        return 0
    digits = zone[1:].replace(":", "")
    offset = int(digits[:2]) * 3600 + int(digits[2:] or 0) * 60
    return -offset if zone[0] == "-" else offset
