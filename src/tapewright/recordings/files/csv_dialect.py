r"""How a table of text is written: encoding, separator, decimal sign, preamble, header, units.

Picture:

    Instrument;bench scope            preamble: key and value, may hold the sample interval
    Sample interval;0,00002
    time;line                         header: names, may hold units "time (ms)"
    ms;V                              units row
    0,00;3,31                         data: the longest run of rows with the same number of readable cells
    0,02;3,30

Each separator is tried with each decimal sign; the pair that reads the most rows, then the most columns, wins. Columns
that stay empty through the data are no data: what stands in them beside or above it belongs to the preamble.
"""

import codecs
import contextlib
import csv
import functools
import itertools
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tapewright.recordings.files.csv_cells import bare_cell, cell_value, hex_value, is_number, stamp_moment

SEPARATORS = ("\t", ";", ",", "|", " ")
#: lines looked at to find the dialect
LINES_LOOKED_AT = 400
MOST_COLUMNS = 4096
#: as many readable rows are data, even where something that is none follows
FEWEST_ROWS = 3

#: units, any case but M -> how many of them make one second
SECONDS = {
    name: per
    for names, per in (
        ("s sec secs second seconds", 1.0),
        ("ms msec millisecond milliseconds", 1e3),
        ("us µs μs usec microsecond microseconds", 1e6),
        ("ns nsec nanosecond nanoseconds", 1e9),
        ("ps picosecond picoseconds", 1e12),
        ("min minute minutes", 1 / 60),
    )
    for name in names.split()
}
OTHER_UNITS = {"", "v", "mv", "uv", "µv", "μv", "kv", "dbv", "a", "ma", "ua", "µa", "μa", "ohm", "1", "-", "[]", "div"}
OTHER_UNITS |= {"volt", "volts", "ampere", "amperes", "counts", "adc", "lsb", "logic", "bool", "digital", "level"}
_DECIMALS = re.compile(r"\d[.,](\d+)$")
_BRACKETS = re.compile(r"[\(\[\{<]\s*([^\)\]\}>]*?)\s*[\)\]\}>]")
_QUOTED_COMMA = re.compile(r'"[+-]?\d*,\d+')
Row = Sequence[str]


@dataclass(frozen=True, slots=True)
class Dialect:
    """How one file is written.

    Attributes:
        encoding: for Python's decoder.
        separator: between cells; a space stands for any white space.
        decimal: "." or ",".
        data_line: number of the first data row, from 0 on.
        width: cells of a data row.
        live: numbers of the cells that hold data; the others are empty all the way.
        names: names of the live columns.
        units: the unit of each as written, "" when none.
        preamble: what stands before or beside the data, cut in cells.
        heading: the rows of names and units; where they come again another piece of the same table begins.
        plain: the live cells of some row are all written in digits.
        stamps: numbers, among the live columns, of those written as dates and clocks.
        since: the moment of the first stamp, from which they are counted.
        hexadecimal: numbers, among the live columns, of those written as hexadecimal words.
        digits: of each column, how many decimals every looked-at row is written with; 0 when they differ.
        mixed: a row before the data that reads as data with another separator, counted from 1, and that separator.
    """

    encoding: str
    separator: str
    decimal: str
    data_line: int
    width: int
    live: tuple[int, ...]
    names: tuple[str, ...]
    units: tuple[str, ...]
    preamble: tuple[Row, ...]
    heading: tuple[Row, ...]
    plain: bool
    stamps: tuple[int, ...]
    since: int
    hexadecimal: tuple[int, ...]
    digits: tuple[int, ...]
    mixed: tuple[int, str] | None

    @property
    def columns(self) -> int:
        """Columns that hold data."""
        return len(self.live)


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
        return "cp1252" if sum(byte >= 128 for byte in head) <= len(head) // 20 else None
    return "utf-8"


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
    cut = {separator: [split(line, separator) for line in lines] for separator in SEPARATORS}
    quoted_commas = any(_QUOTED_COMMA.search(line) for line in lines)
    hexed = any("hex" in line.casefold() for line in lines)
    tried: list[tuple[tuple[int, int, int], str, str, list[_Run]]] = []
    for rank, separator in enumerate(SEPARATORS):
        for decimal in (".", ","):
            if separator != decimal or quoted_commas:
                runs = list(_runs(cut[separator], decimal, hexed=hexed))
                longest = max(runs, key=lambda run: run.count, default=_NO_RUN)
                tried.append(((longest.count, longest.width, -rank), separator, decimal, runs))
    score, separator, decimal, runs = max(tried, key=lambda each: each[0])
    if not score[0]:
        return None
    rows = cut[separator]
    run = _first_of(rows, runs, decimal)
    data = [row for row in rows[run.start :] if row]
    live = [n for n in range(run.width) if any(len(row) > n and bare_cell(row[n]) for row in data[: run.count])]
    dead = [n for n in range(max(map(len, rows))) if n not in live]
    start = _begin_beside(rows, run, live, decimal) if dead else run.start
    heading, names, units = _heading(rows[:start], run.width, live, decimal)
    beside = [[row[n] for n in dead if n < len(row)] for row in rows[start:]]
    preamble = [*rows[:start], *_pairs(heading, dead), *beside]
    data = [[row[n] if n < len(row) else "" for n in live] for row in rows[start:] if row]
    moments = {n: at for n, cell in enumerate(data[0]) if (at := stamp_moment(bare_cell(cell))) is not None}
    before = [each for each in tried if each[1] != separator]
    return Dialect(
        encoding,
        separator,
        decimal,
        data_line=start,
        width=run.width,
        live=tuple(live),
        names=_unique(names),
        units=tuple("s" if number in moments else unit for number, unit in enumerate(units)),
        preamble=tuple(row for row in preamble if any(row)),
        heading=tuple(heading),
        plain=any(all(is_number(cell, decimal) for cell in row) for row in data),
        stamps=tuple(moments),
        since=next(iter(moments.values()), 0),
        hexadecimal=_hexadecimal(data, names, hexed=hexed),
        digits=tuple(_digits([row[n] for row in data]) for n in range(len(live))),
        mixed=next(
            (
                (other.start + 1, sign)
                for _, sign, _, others in before
                for other in others
                if other.count >= FEWEST_ROWS and other.width > 1 and other.start + other.count <= start
            ),
            None,
        ),
    )


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
        return line.split()
    cells = line.split(separator)
    if '"' in line:
        with contextlib.suppress(csv.Error):
            cells = next(csv.reader([line], delimiter=separator, skipinitialspace=True), [])
    if len(cells) > 1 and not cells[-1].strip():
        cells.pop()
    return cells


@dataclass(frozen=True, slots=True)
class _Run:
    """Rows one after the other, empty ones between them, that have the same number of readable cells."""

    start: int
    end: int
    count: int
    width: int


_NO_RUN = _Run(0, 0, 0, 0)


def _runs(rows: Sequence[Row], decimal: str, *, hexed: bool) -> Iterable[_Run]:
    start, end, width, count = 0, 0, 0, 0
    for number, row in enumerate(rows):
        if not row:
            continue
        fits = len(row) <= MOST_COLUMNS and _readable(row, decimal, hexed=hexed)
        if fits and len(row) == width:
            count, end = count + 1, number + 1
            continue
        if count:
            yield _Run(start, end, count, width)
        start, end, width, count = number, number + 1, len(row) if fits else 0, int(fits)
    if count:
        yield _Run(start, end, count, width)


def _readable(row: Row, decimal: str, *, hexed: bool) -> bool:
    """Return whether a row holds levels: all cells readable, at least one in digits or as a level in words."""
    values = [cell_value(cell, decimal) for cell in row]
    if hexed:
        values = [hex_value(cell) if value is None else value for cell, value in zip(row, values, strict=True)]
    return all(value is not None for value in values) and any(value == value for value in values)


def _first_of(rows: Sequence[Row], runs: Sequence[_Run], decimal: str) -> _Run:
    """Return the run with which the data begins: the longest, or one before it that no header of its own parts from it.

    What lies between two runs and is no data is left to the reader of rows: it passes over a header that comes again,
    and refuses anything else by its place.
    """
    longest = max(runs, key=lambda run: run.count)
    alike = [run for run in runs if run.width == longest.width and run.start <= longest.start]
    begin = longest
    for later, earlier in itertools.pairwise(reversed(alike)):
        between = [row for row in rows[earlier.end : later.start] if row]
        header = next((row for row in reversed(between) if _is_header(row, decimal)), None)
        if earlier.count < FEWEST_ROWS or (header is not None and header not in rows[: earlier.start]):
            break
        begin = earlier
    return begin if begin.count >= FEWEST_ROWS else longest


def _is_header(row: Row, decimal: str) -> bool:
    return len(row) > 1 and not any(is_number(cell, decimal) for cell in row) and not _is_units_row(row)


def _begin_beside(rows: Sequence[Row], run: _Run, live: Sequence[int], decimal: str) -> int:
    """Return the first row that has numbers in all live columns: other columns beside them may hold a preamble."""
    start = run.start
    while start and len(rows[start - 1]) > live[-1] and all(is_number(rows[start - 1][n], decimal) for n in live):
        start -= 1
    return start


def _heading(
    before: Sequence[Row], width: int, live: Sequence[int], decimal: str
) -> tuple[list[Row], list[str], list[str]]:
    """Find names and units of the live columns in the lines before the data; give those lines too."""
    rows = [row for row in before if row]
    names, units = [str(number) for number in range(1, len(live) + 1)], [""] * len(live)
    heading: list[Row] = []

    def of_live(row: Row) -> list[str]:
        return [row[n] if n < len(row) else "" for n in live]

    if rows and _near(rows[-1], width) and _is_units_row(of_live(rows[-1])):
        units = [_bare_unit(cell) for cell in of_live(rows[-1])]
        heading = [rows.pop()]
    if rows and _near(rows[-1], width) and not all(is_number(cell, decimal) for cell in of_live(rows[-1])):
        cells = [bare_cell(cell) for cell in of_live(rows[-1])]
        names = [cell or name for cell, name in zip(cells, names, strict=True)]
        units = [unit or _unit_in_name(cell) for unit, cell in zip(units, cells, strict=True)]
        heading = [rows[-1], *heading]
    return heading, names, units


def _near(row: Row, width: int) -> bool:
    return width - 1 <= len(row) <= width + 1


def _pairs(heading: Sequence[Row], dead: Sequence[int]) -> list[list[str]]:
    """Return what stands above columns without data: a name, and a value below it."""
    return [[row[n] for row in heading if n < len(row)] for n in dead]


def _unique(names: Sequence[str]) -> tuple[str, ...]:
    """Number names that occur twice."""
    seen: dict[str, int] = {}
    out = []
    for name in names:
        seen[name] = seen.get(name, 0) + 1
        out.append(name if seen[name] == 1 else f"{name} {seen[name]}")
    return tuple(out)


def _hexadecimal(data: Sequence[Row], names: Sequence[str], *, hexed: bool) -> tuple[int, ...]:
    """Return the columns of hexadecimal words: marked 0x, or named so, or the last one where the text names hex."""
    found = []
    for number, name in enumerate(names):
        cells = [bare_cell(row[number]) for row in data]
        marked = all(cell[:2] in ("0x", "0X") for cell in cells)
        named = hexed and ("hex" in name.casefold() or any(cell_value(cell, ".") is None for cell in cells))
        if (marked or named) and all(hex_value(cell) is not None for cell in cells):
            found.append(number)
    return tuple(found)


def _digits(cells: Sequence[str]) -> int:
    """Return how many decimals cells are written with, where that is one number for all after the first; else 0."""
    ends = [_DECIMALS.search(bare_cell(cell)) for cell in cells]
    widths = {len(end.group(1)) if end else 0 for end in ends[1:] or ends}
    return widths.pop() if len(widths) == 1 else 0


def _bare_unit(cell: str) -> str:
    return bare_cell(cell).strip("()[]{}<> ").strip()


def _is_units_row(row: Row) -> bool:
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
