r"""Time written as a date and a clock, or as a clock alone, as loggers and spreadsheets write it.

Picture (ISO 8601 and the usual departures from it):

    2031-05-04T20:15:07.123456+01:00      date and clock; "T" or a space; "Z", an offset, or nothing
    20:15:07,123                          clock alone; past midnight it begins anew

Seconds are counted from the file's first stamp, so that no digits are lost to the years.
"""

import re
from datetime import date

import numpy as np
import numpy.typing as npt

_CLOCK = r"(?P<h>[01]?\d|2[0-3]):(?P<m>[0-5]\d):(?P<s>[0-5]\d|60)(?:[.,](?P<part>\d{1,12}))?"
_STAMP = re.compile(
    rf"(?:(?P<day>\d{{4}}-\d\d-\d\d)[T ]\s*)?{_CLOCK}\s*(?P<zone>Z|[+-]\d\d(?::?\d\d)?)?", re.IGNORECASE
)
DAY_S, A_SECOND = 86_400, 10**12


def stamp_seconds(cell: str, since: int = 0) -> float | None:
    """Return the seconds from the moment `since` to a stamp; None when it is no stamp."""
    at = stamp_moment(cell)
    return None if at is None else (at - since) / A_SECOND


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
