"""Which column of a table of text is the time, which are levels, and what the preamble says of the rate."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tapewright.recordings.files.csv_dialect import INDEX_WORDS, TIME_WORDS, Dialect, seconds_in
from tapewright.recordings.files.options import FASTEST_HZ, SLOWEST_HZ

_NUMBER = re.compile(r"[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d+)?")
_RATE_KEY = re.compile(
    r"sampl\w*[ _-]*(?:rate|freq\w*)|(?:sampling|acquisition)[ _-]*(?:rate|freq\w*)|^fs$|\brate\b", re.I
)
_INTERVAL_KEY = re.compile(
    r"sampl\w*[ _-]*(?:interval|period|time|spacing)|\bincrement\b|\binterval\b|^dt$|^delta ?t$|x ?incr\w*|time ?step",
    re.I,
)
_HERTZ = {"hz": 1.0, "khz": 1e3, "mhz": 1e6, "ghz": 1e9, "s/s": 1.0, "sa/s": 1.0, "ks/s": 1e3, "ksa/s": 1e3}
_HERTZ |= {"ms/s": 1e6, "msa/s": 1e6, "gs/s": 1e9, "gsa/s": 1e9, "sps": 1.0, "ksps": 1e3, "msps": 1e6}


@dataclass(frozen=True, slots=True)
class Columns:
    """What each column is for.

    Attributes:
        time: number of the time column, None when there is none.
        levels: numbers of the level columns.
        second: one second in the unit of the time column; None when not stated.
    """

    time: int | None
    levels: tuple[int, ...]
    second: float | None


def assign_columns(dialect: Dialect, rows: npt.NDArray[np.float64]) -> Columns:
    """Decide what the columns are, from their names and the first `rows`, shape (n, columns)."""
    words = [re.sub(r"[\(\[\{/_].*", "", name).strip().casefold() for name in dialect.names]
    index = {number for number, word in enumerate(words) if word in INDEX_WORDS and _counts_up(rows[:, number])}
    time = _time_column(dialect, words, rows, index)
    levels = tuple(number for number in range(dialect.columns) if number != time and number not in index)
    if time is None:
        return Columns(None, levels, None)
    stated = seconds_in(dialect.units[time]) or (1.0 if words[time].startswith("second") else None)
    return Columns(time, levels, stated)


def _time_column(dialect: Dialect, words: Sequence[str], rows: npt.NDArray[np.float64], index: set[int]) -> int | None:
    """By name, then by unit, then the first column that only rises."""
    named = [n for n, word in enumerate(words) if word == "t" or any(part in word for part in TIME_WORDS)]
    by_unit = [n for n, unit in enumerate(dialect.units) if seconds_in(unit) is not None]
    for number in (*named, *by_unit):
        if number not in index:
            return number
    for number in range(min(2, dialect.columns)):
        column = rows[:, number]
        known = column[np.isfinite(column)]
        rises = bool((known[1:] >= known[:-1]).all()) and np.count_nonzero(known[1:] > known[:-1]) > 1
        if number not in index and rises:
            return number
    return None


def _counts_up(column: npt.NDArray[np.float64]) -> bool:
    """Return whether a column is the number of the row."""
    return column.size < 2 or bool((column[1:] - 1 == column[:-1]).all())


def rate_in_preamble(dialect: Dialect) -> float | None:
    """Find the sample rate, or the interval, that the lines before the data state; None when they do not."""
    for row in dialect.preamble:
        rate_hz = _rate_in(" ".join(row), re.split(r"[:=]", row[0])[0] if row else "")
        if rate_hz is not None and SLOWEST_HZ <= rate_hz <= FASTEST_HZ:
            return rate_hz
    return None


def _rate_in(text: str, key: str) -> float | None:
    """Find a rate in one line of the preamble that begins with `key`."""
    value = _NUMBER.search(text[len(key) :]) if key else None
    number = float(value.group().replace(",", ".")) if value is not None else 0.0
    if not number > 0:
        return None
    units = [word.casefold() for word in re.findall(r"[A-Za-zµμ/]+", text)]
    if _RATE_KEY.search(key):
        return number * next((_HERTZ[unit] for unit in units if unit in _HERTZ), 1.0)
    if _INTERVAL_KEY.search(key):
        return next((per for unit in units if (per := seconds_in(unit)) is not None), 1.0) / number
    return None
