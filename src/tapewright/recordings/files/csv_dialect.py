r"""How a table of text is written: encoding, separator, decimal sign, preamble, header, units.

Picture:

    Instrument;bench scope            preamble: key and value, may hold the sample interval
    Sample interval;0,00002
    time;line                         header: names, may hold units "time (ms)"
    ms;V                              units row
    0,00;3,31                         data: the longest run of rows with the same number of readable cells
    0,02;3,30

Each separator is tried with each decimal sign; the pair that reads the most rows, then the most columns, wins.
"""

import codecs
import csv
import functools
import re
from collections.abc import Sequence
from dataclasses import dataclass

from tapewright.recordings.files.csv_cells import bare_cell, cell_value, is_number
from tapewright.recordings.files.time_stamps import stamp_moment

SEPARATORS = ("\t", ";", ",", "|", " ")
#: lines looked at to find the dialect
LINES_LOOKED_AT = 400
MOST_COLUMNS = 4096

#: unit as written, any case but M -> how many of them make one second
SECONDS = {
    "s": 1.0, "sec": 1.0, "secs": 1.0, "second": 1.0, "seconds": 1.0,
    "ms": 1e3, "msec": 1e3, "millisecond": 1e3, "milliseconds": 1e3,
    "us": 1e6, "µs": 1e6, "μs": 1e6, "usec": 1e6, "microsecond": 1e6, "microseconds": 1e6,
    "ns": 1e9, "nsec": 1e9, "nanosecond": 1e9, "nanoseconds": 1e9,
    "ps": 1e12, "picosecond": 1e12, "picoseconds": 1e12,
    "min": 1 / 60, "minute": 1 / 60, "minutes": 1 / 60,
}  # fmt: skip
OTHER_UNITS = {
    "v", "mv", "uv", "µv", "μv", "kv", "a", "ma", "ua", "µa", "μa", "volt", "volts", "ampere", "amperes", "ohm",
    "logic", "bool", "digital", "level", "1", "-", "", "[]", "div", "counts", "adc", "lsb", "dbv",
}  # fmt: skip
TIME_WORDS = ("time", "zeit", "temps", "tiempo", "tijd", "tempo", "second", "timestamp", "x-axis", "x axis")
INDEX_WORDS = (
    "sample",
    "samples",
    "index",
    "idx",
    "n",
    "no",
    "no.",
    "nr",
    "nr.",
    "#",
    "row",
    "point",
    "sample number",
    "num",
)
_DECIMALS = re.compile(r"\d[.,](\d+)$")
_BRACKETS = re.compile(r"[\(\[\{<]\s*([^\)\]\}>]*?)\s*[\)\]\}>]")


@dataclass(frozen=True, slots=True)
class Dialect:
    """How one file is written.

    Attributes:
        encoding: for Python's decoder.
        separator: between cells; a space stands for any white space.
        decimal: "." or ",".
        data_line: number of the first data row, from 0 on.
        names: column names.
        units: the unit of each column as written, "" when none.
        preamble: the lines before the data, cut in cells.
        stamps: numbers of the columns written as dates and clocks.
        since: the moment of the first stamp, from which they are counted.
        digits: of each column, how many decimals every looked-at row is written with; 0 when they differ.
        plain: True when every cell of the looked-at rows is written in digits, without quotes.
    """

    encoding: str
    separator: str
    decimal: str
    data_line: int
    names: tuple[str, ...]
    units: tuple[str, ...]
    preamble: tuple[tuple[str, ...], ...]
    plain: bool
    stamps: tuple[int, ...] = ()
    since: int = 0
    digits: tuple[int, ...] = ()

    @property
    def columns(self) -> int:
        """Columns of a data row."""
        return len(self.names)


def find_encoding(head: bytes) -> str | None:
    """Return the encoding of a text file, None when it is none."""
    for mark, name in (
        (codecs.BOM_UTF8, "utf-8-sig"),
        (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"),
    ):
        if head.startswith(mark):
            return name
    if head[1:200:2].count(0) > len(head[1:200:2]) * 0.8:
        return "utf-16-le"
    if head[:200:2].count(0) > len(head[:200:2]) * 0.8:
        return "utf-16-be"
    if b"\0" in head:
        return None
    strange = sum(head.count(bytes([code])) for code in (*range(1, 9), *range(14, 27), 28, 29, 30, 31))
    if strange > len(head) // 200:
        return None
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head)
    except UnicodeDecodeError:
        return "cp1252" if _mostly_ascii(head) else None
    return "utf-8"


def _mostly_ascii(head: bytes) -> bool:
    return sum(byte >= 128 for byte in head) <= len(head) // 20


@functools.lru_cache(maxsize=1)  # asked once whether the file is a table, and once to read it
def find_dialect(head: bytes, *, whole: bool) -> Dialect | None:
    """Find how the text that begins with `head` is written, None when it is no table of numbers.

    Args:
        head: the first bytes.
        whole: `head` is the whole file; else its last line may be cut and is left out.
    """
    encoding = find_encoding(head)
    if encoding is None:
        return None
    lines = _lines(head, encoding, whole)
    best: tuple[tuple[int, int, int], str, str, int, int] | None = None
    cut = {separator: [split(line, separator) for line in lines] for separator in SEPARATORS}
    for rank, separator in enumerate(SEPARATORS):
        for decimal in (".", ","):
            if separator == decimal:
                continue
            start, rows, columns = _longest_run(cut[separator], decimal)
            score = (rows if columns > 0 else 0, columns, -rank)
            if rows and (best is None or score > best[0]):
                best = (score, separator, decimal, start, columns)
    if best is None:
        return None
    _, separator, decimal, start, columns = best
    rows_of_cells = cut[separator]
    names, units = _heading(rows_of_cells[:start], columns, decimal)
    data = [row for row in rows_of_cells[start:] if row]
    plain = all(is_number(cell, decimal) for row in data for cell in row) and '"' not in "".join(lines[start:])
    preamble = tuple(tuple(row) for row in rows_of_cells[:start])
    stamps, since = _stamps(data[0] if data else [])
    units = tuple("s" if number in stamps else unit for number, unit in enumerate(units))
    digits = _digits(data, columns)
    return Dialect(encoding, separator, decimal, start, names, units, preamble, plain, stamps, since, digits)


def _digits(data: Sequence[Sequence[str]], columns: int) -> tuple[int, ...]:
    """Return how many decimals each column is written with, where that is one number for all rows after the first."""
    found = []
    for number in range(columns):
        ends = [_DECIMALS.search(bare_cell(row[number])) for row in data if len(row) > number]
        widths = {len(end.group(1)) if end else 0 for end in ends[1:] or ends}
        found.append(widths.pop() if len(widths) == 1 else 0)
    return tuple(found)


def _stamps(row: Sequence[str]) -> tuple[tuple[int, ...], int]:
    """Return the columns of a row that hold dates and clocks, and the moment of the first of them."""
    moments = {number: stamp_moment(bare_cell(cell)) for number, cell in enumerate(row)}
    found = {number: moment for number, moment in moments.items() if moment is not None}
    return tuple(found), next(iter(found.values()), 0)


def _lines(head: bytes, encoding: str, whole: bool) -> list[str]:
    text = codecs.getincrementaldecoder(encoding)("replace").decode(head)
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if not whole and len(lines) > 1:
        lines = lines[:-1]
    while lines and not lines[-1].strip():
        lines.pop()
    return lines[:LINES_LOOKED_AT]


def split(line: str, separator: str) -> list[str]:
    """Cut a line in cells; an empty line has none, and a separator at its end does not make one more."""
    if not line.strip():
        return []
    if separator == " ":
        cells = line.split()
    elif '"' in line:
        try:
            cells = next(csv.reader([line], delimiter=separator, skipinitialspace=True), [])
        except csv.Error:
            cells = line.split(separator)
    else:
        cells = line.split(separator)
    if len(cells) > 1 and not cells[-1].strip() and separator != " ":
        cells.pop()
    return cells


def _longest_run(rows: Sequence[Sequence[str]], decimal: str) -> tuple[int, int, int]:
    """Return begin, rows and columns of the longest run of readable rows of one width, the first cell in digits."""
    best = (0, 0, 0)
    start, width, count = 0, 0, 0
    for number, row in enumerate(rows):
        if not row and width:
            continue
        fits = 0 < len(row) <= MOST_COLUMNS and _readable(row, decimal)
        if fits and len(row) == width:
            count += 1
        elif fits:
            start, width, count = number, len(row), 1
        else:
            start, width, count = number + 1, 0, 0
        if count > best[1]:
            best = (start, count, width)
    return best


def _readable(row: Sequence[str], decimal: str) -> bool:
    """Return whether a row holds levels: all cells readable, at least one in digits or as a level in words."""
    values = [cell_value(cell, decimal) for cell in row]
    return all(value is not None for value in values) and any(value == value for value in values)


def _heading(before: Sequence[Sequence[str]], columns: int, decimal: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Find names and units in the lines before the data."""
    rows = [row for row in before if row]
    names = [str(number) for number in range(1, columns + 1)]
    units = [""] * columns
    last = list(rows[-1]) if rows and len(rows[-1]) in (columns, columns - 1) else None
    if (
        last is not None
        and len(rows) > 1
        and _is_units_row(last)
        and len(rows[-2]) in (columns, columns - 1, columns + 1)
    ):
        units = [_bare_unit(cell) for cell in ([*last, ""])[:columns]]
        last = list(rows[-2])
    elif last is not None and _is_units_row(last) and any(_bare_unit(cell) for cell in last):
        units = [_bare_unit(cell) for cell in ([*last, ""])[:columns]]
        last = None
    if last is not None and not all(is_number(cell, decimal) for cell in last):
        cells = [cell.strip().strip('"').strip() for cell in ([*last, ""])[:columns]]
        names = [cell or name for cell, name in zip(cells, names, strict=True)]
        units = [unit or _unit_in_name(cell) for unit, cell in zip(units, cells, strict=True)]
    return tuple(_unique(names)), tuple(units)


def _unique(names: list[str]) -> list[str]:
    """Number names that occur twice."""
    seen: dict[str, int] = {}
    out = []
    for name in names:
        seen[name] = seen.get(name, 0) + 1
        out.append(name if seen[name] == 1 else f"{name} {seen[name]}")
    return out


def _bare_unit(cell: str) -> str:
    return cell.strip().strip('"').strip("()[]{}<> ").strip()


def _is_units_row(row: Sequence[str]) -> bool:
    bare = [_bare_unit(cell).casefold() for cell in row]
    return any(bare) and all(cell in SECONDS or cell in OTHER_UNITS for cell in bare)


def _unit_in_name(name: str) -> str:
    """Find a unit in a column's name: 'time (ms)', 'time [us]', 't/ms', 'time_us', 'time ms'."""
    inside = _BRACKETS.search(name)
    if inside:
        return inside.group(1)
    tail = re.split(r"[/_\s,;]+", name.strip())
    return tail[-1] if len(tail) > 1 and tail[-1].casefold() in SECONDS else ""


def seconds_in(unit: str) -> float | None:
    """Return how many of `unit` make one second, None when it is no unit of time."""
    return SECONDS.get(unit.strip().casefold())
