r"""What each column of a table of text is for, and what the preamble says of the rate.

Picture of what a row may say, and what is made of it:

    time, levels            0.0215, 3.31, 0.02     as it stands
    step, levels            500, 3.31              time since the row before: summed up
    level, how long         1, 22000               a list of changes, with its end
    samples, level          110, 1                 the same, in samples of the preamble's rate
    number, level           42, 3.31               samples at the preamble's begin and rate
    word of bits            0x2D                   a channel for each bit, named in the preamble
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tapewright.recordings.files.csv_dialect import Dialect, seconds_in
from tapewright.recordings.files.options import FASTEST_HZ, SLOWEST_HZ

TIME_WORDS = ("time", "zeit", "temps", "tiempo", "tijd", "tempo", "second", "timestamp", "x-axis", "x axis")
INDEX_WORDS = {"sample", "samples", "sample number", "index", "idx", "n", "no", "no.", "nr", "nr.", "#", "row", "point"}
INDEX_WORDS |= {"num"}
_STEP_WORDS = re.compile(r"^(delta|diff\w*|dt|Δt?|∆t?|since\b.*|interval|step)\b", re.I)
_LASTING_WORDS = re.compile(r"duration|dauer|lasts|length|width|how long|held for", re.I)
_COUNT_WORDS = re.compile(r"^(count|run|repeat|times|length|samples)", re.I)

_NUMBER = re.compile(r"[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d+)?")
_RATE_KEY = re.compile(
    r"sampl\w*[ _-]*(?:rate|freq\w*|per[ _-]*second)|(?:sampling|acquisition)[ _-]*(?:rate|freq\w*)|^fs$|\brate\b", re.I
)
_INTERVAL_KEY = re.compile(
    r"sampl\w*[ _-]*(?:interval|period|time|spacing)|\bincrement\b|\binterval\b|^dt$|^delta ?t$|x ?incr\w*|time ?step",
    re.I,
)
_BEGIN_KEY = re.compile(r"^(?:start|begin|x ?(?:origin|zero|start)|first sample|start ?time)$", re.I)
_HERTZ = {"hz": 1.0, "khz": 1e3, "mhz": 1e6, "ghz": 1e9, "s/s": 1.0, "sa/s": 1.0, "ks/s": 1e3, "ksa/s": 1e3}
_HERTZ |= {"ms/s": 1e6, "msa/s": 1e6, "gs/s": 1e9, "gsa/s": 1e9, "sps": 1.0, "ksps": 1e3, "msps": 1e6}
_ONE_BIT = re.compile(r"\bbit\s*(\d+)\W+(\S+)", re.I)
_SOME_BITS = re.compile(r"\bbits?\s*(\d+)\s*(?:\.\.|-|:|to)\s*(\d+)\s*[:=]?\s*(.+)", re.I)

Rows = npt.NDArray[np.float64]


@dataclass(slots=True)
class Columns:
    """What each column is for; gives times and levels out of rows fed in order.

    Attributes:
        names: names of the levels.
        time: number of the column of times, steps or durations; None when there is none.
        levels: numbers of the level columns.
        second: one second in the unit of the time column; None when not stated.
        is_step: the time column holds the time since the row before.
        lasts: it holds how long the level of its row lasts.
        word: number of the column that holds the levels as bits of one word; None when each has a column.
    """

    names: tuple[str, ...]
    time: int | None
    levels: tuple[int, ...]
    second: float | None
    is_step: bool = False
    lasts: bool = False
    word: int | None = None
    _now: float = 0.0

    @property
    def end(self) -> float | None:
        """Time at which the last level ends, where the file says so, in the unit of the times."""
        return self._now if self.lasts else None

    def times_of(self, rows: Rows) -> list[Rows]:
        """Return the column of times, none when there is none."""
        if self.time is None:
            return []
        times = rows[:, self.time]
        if self.is_step or self.lasts:
            ends = self._now + np.cumsum(times)
            self._now = float(ends[-1])
            return [ends - times if self.lasts else ends]
        return [times]

    def levels_of(self, rows: Rows, chosen: Iterable[int]) -> list[Rows]:
        """Return the columns of some levels."""
        if self.word is None:
            return [rows[:, self.levels[index]] for index in chosen]
        words = np.nan_to_num(rows[:, self.word]).astype(np.int64)
        return [(words >> index & 1).astype(float) for index in chosen]


def assign_columns(dialect: Dialect, rows: Rows) -> Columns:
    """Decide what the columns are, from their names and the first `rows`, shape (n, columns)."""
    names = dialect.names
    words = [re.sub(r"[\(\[\{/_].*", "", name).strip().casefold() for name in names]
    lasting = _lasting(dialect, words, rows)
    index = {number for number, word in enumerate(words) if word in INDEX_WORDS and _counts_up(rows[:, number])}
    time = _time_column(dialect, words, rows, index) if lasting is None else lasting[0]
    levels = tuple(number for number in range(dialect.columns) if number != time and number not in index)
    second = None
    if time is not None:
        second = seconds_in(dialect.units[time]) or (1.0 if words[time].startswith("second") else None)
    made = Columns(tuple(names[number] for number in levels), time, levels, second)
    if lasting is not None:
        made.lasts, made.second = True, made.second or lasting[1]
    elif time is not None and _STEP_WORDS.search(words[time]):
        made.is_step = not _rises(rows[:, time])
    if len(levels) == 1 and levels[0] in dialect.hexadecimal:
        made.word, made.names = levels[0], _bit_names(dialect, names[levels[0]], rows[:, levels[0]])
    return made


def _time_column(dialect: Dialect, words: Sequence[str], rows: Rows, index: set[int]) -> int | None:
    """By name, then by unit, then the first column that only rises."""
    named = [n for n, word in enumerate(words) if word == "t" or any(part in word for part in TIME_WORDS)]
    by_unit = [n for n, unit in enumerate(dialect.units) if seconds_in(unit) is not None]
    for number in (*named, *by_unit):
        if number not in index:
            return number
    for number in range(min(2, dialect.columns)):
        if number not in index and number not in dialect.hexadecimal and _rises(rows[:, number]):
            return number
    return None


def _rises(column: Rows) -> bool:
    known = column[np.isfinite(column)]
    return bool((known[1:] >= known[:-1]).all()) and int(np.count_nonzero(known[1:] > known[:-1])) > 1


def _counts_up(column: Rows) -> bool:
    """Return whether a column is the number of the row."""
    return column.size < 2 or bool((column[1:] - 1 == column[:-1]).all())


def _lasting(dialect: Dialect, words: Sequence[str], rows: Rows) -> tuple[int, float | None] | None:
    """Return the column that says how long the level beside it lasts, with its unit where the preamble says it."""
    if dialect.columns != 2 or rows.shape[0] < 2:
        return None
    for number, word in enumerate(words):
        lengths, levels = rows[:, number], rows[:, 1 - number]
        if not (lengths > 0).all() or _rises(lengths):
            continue
        if _LASTING_WORDS.search(word) and seconds_in(dialect.units[number]) is not None:
            return number, None
        rate_hz = rate_in_preamble(dialect)
        if _COUNT_WORDS.search(word) and rate_hz is not None:
            return number, rate_hz
        two_valued = set(levels.tolist()) == {levels.min(), levels.max()}
        if not dialect.heading and two_valued and (levels[1:] != levels[:-1]).all():
            return number, None
    return None


def _bit_names(dialect: Dialect, name: str, words: Rows) -> tuple[str, ...]:
    """Name the bits of a word, the lowest first: as the preamble does, else by their numbers."""
    named: dict[int, str] = {}
    for row in dialect.preamble:
        text = " ".join(row)
        if several := _SOME_BITS.search(text):
            first, last, rest = int(several[1]), int(several[2]), re.split(r"[\s,;|]+", several[3].strip())
            numbers = range(first, last - 1, -1) if first > last else range(first, last + 1)
            named |= dict(zip(numbers, rest, strict=False))
        elif one := _ONE_BIT.search(text):
            named[int(one[1])] = one[2]
    width = max(int(np.nanmax(words)).bit_length(), 1, *(number + 1 for number in named if number < 52))
    return tuple(named.get(bit, f"{name}[{bit}]") for bit in range(width))


def rate_in_preamble(dialect: Dialect) -> float | None:
    """Return the sample rate, or the interval's, that the lines before the data state; None when they do not."""
    for key, text in _stated(dialect):
        rate_hz = _rate_in(key, text)
        if rate_hz is not None and SLOWEST_HZ <= rate_hz <= FASTEST_HZ:
            return rate_hz
    return None


def begin_in_preamble(dialect: Dialect) -> float:
    """Return the time of the first sample, in seconds, that the lines before the data state; 0 when they do not."""
    for key, text in _stated(dialect):
        value = _NUMBER.search(text) if _BEGIN_KEY.search(key) else None
        if value is not None:
            return float(value.group().replace(",", ".")) / _per_second(text)
    return 0.0


def _stated(dialect: Dialect) -> list[tuple[str, str]]:
    """Return what the preamble states, as key and the rest of its line."""
    found = []
    for row in dialect.preamble:
        text = " ".join(row).lstrip(" #;%/*'\"")
        key = re.split(r"[:=,;\t]", re.sub(r"^[ #;%/*'\"]+", "", row[0]) or text)[0].strip()
        found.append((key, (text[len(key) :] if text.startswith(key) else text).lstrip(" :=,;\t")))
    return found


def _rate_in(key: str, text: str) -> float | None:
    """Return the rate that a line of the preamble which begins with `key` states."""
    value = _NUMBER.search(text) if key else None
    number = float(value.group().replace(",", ".")) if value is not None else 0.0
    if not number > 0:
        return None
    if _RATE_KEY.search(key):
        units = [word.casefold() for word in re.findall(r"[A-Za-zµμ/]+", f"{key} {text}")]
        return number * next((_HERTZ[unit] for unit in units if unit in _HERTZ), 1.0)
    return _per_second(f"{key} {text}") / number if _INTERVAL_KEY.search(key) else None


def _per_second(text: str) -> float:
    units = [word.casefold() for word in re.findall(r"[A-Za-zµμ/]+", text)]
    return next((per for unit in units if (per := seconds_in(unit)) is not None), 1.0)
