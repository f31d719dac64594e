"""The rows of a table of text as numbers, a piece at a time.

Columns of plain numbers go to a kept reader: polars where it is installed and the file is long, else numpy's. What it
refuses is read cell by cell: levels in words, moments, hexadecimal words, a header that comes again, a summary at the
end; and whatever cannot be understood there is refused by its place.
"""

import codecs
import importlib.util
import io
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

import numpy as np
import numpy.typing as npt

from tapewright.errors import InputError
from tapewright.recordings.files.csv_cells import cell_value, hex_value, past_midnight
from tapewright.recordings.files.csv_dialect import SEPARATORS, Dialect, split

#: bytes read at once: small enough that all of it stays in the cache; many enough that polars pays for its start
PIECE_BYTES, LONG_PIECE_BYTES = 1 << 20, 1 << 23
#: from this size on polars is loaded: it takes a third of a second of processor time, and saves that here (measured)
LONG_FROM_BYTES = 16 << 20
#: a line longer than this is none
LONGEST_LINE = 1 << 24
#: rows of words after the data, at the most
MOST_SUMMARY = 200
Rows = npt.NDArray[np.float64]


def rows_of(path: Path, dialect: Dialect) -> Iterator[tuple[Rows, int]]:
    """Return the live columns of the data rows in pieces, shape (n, columns), each with the bytes read so far.

    Raises:
        InputError: names the row and the column that cannot be read.
    """
    if dialect.mixed is not None:
        row, separator = dialect.mixed
        raise InputError(
            path.name,
            place=f"row {row}",
            expected=f"cells parted by {_named(dialect.separator)}, as in row {dialect.data_line + 1}",
            found=f"cells parted by {_named(separator)}",
            do="Export the table again with one separator.",
        )
    long = path.stat().st_size >= LONG_FROM_BYTES and importlib.util.find_spec("polars") is not None
    with path.open("rb") as file:
        lines = _Lines(file, dialect.encoding, LONG_PIECE_BYTES if long else PIECE_BYTES)
        lines.skip(dialect.data_line)
        cells = _CellReader(dialect, path.name)
        clocks: dict[int, float | None] = dict.fromkeys(dialect.stamps, None)
        while text := lines.piece():
            rows = None if cells.waiting or not dialect.plain else _plain(text, dialect, long=long)
            if rows is None:
                rows = cells.read(text.decode("utf-8", "replace"))
            else:
                cells.line += text.count(b"\n")
            if rows.size:
                for column, before in clocks.items():
                    rows[:, column] = past_midnight(rows[:, column], before)
                    clocks[column] = float(rows[-1, column])
                yield rows, file.tell()
        cells.end()


class _Lines:
    """Whole lines of a text file as bytes: UTF-16 turned to UTF-8, the line ends of all systems to one."""

    def __init__(self, file: BinaryIO, encoding: str, piece_bytes: int) -> None:
        self.ended = False
        self._file, self._piece_bytes = file, piece_bytes
        self._decoder = codecs.getincrementaldecoder(encoding)("replace") if encoding.startswith("utf-16") else None
        self._left = b""
        if encoding == "utf-8-sig":
            file.seek(len(codecs.BOM_UTF8))

    def skip(self, lines: int) -> None:
        """Leave out some lines."""
        while lines > 0 and (text := self.piece()):
            ends = text.count(b"\n")
            if ends >= lines:
                at = 0
                for _ in range(lines):
                    at = text.index(b"\n", at) + 1
                self._left, self.ended = text[at:] + self._left, False
                return
            lines -= ends

    def piece(self) -> bytes:
        """Return the next lines, nothing at the end."""
        while not self.ended:
            raw = self._file.read(self._piece_bytes)
            self.ended = not raw
            text = self._left + (raw if self._decoder is None else self._decoded(raw))
            if b"\r" in text and b"\n" not in text:
                text = text.replace(b"\r", b"\n")
            cut = len(text) if self.ended else text.rfind(b"\n") + 1
            self._left = text[cut:]
            if len(self._left) > LONGEST_LINE:
                cut, self._left = len(text), b""
            if cut:
                return text[:cut]
        text, self._left = self._left, b""
        return text

    def _decoded(self, raw: bytes) -> bytes:
        assert self._decoder is not None
        return self._decoder.decode(raw, not raw).encode("utf-8", "replace")


def _plain(text: bytes, dialect: Dialect, *, long: bool) -> Rows | None:
    """Let a kept reader read it; None when there is something else than numbers, or another number of cells."""
    if not text.strip() or dialect.hexadecimal or dialect.separator == dialect.decimal:
        return None
    # a separator at the end of a row makes one more cell, which is empty
    trailing = dialect.separator != " " and text.split(b"\n", 1)[0].rstrip().endswith(dialect.separator.encode())
    width = dialect.width + trailing
    rows = (by_polars if long and dialect.separator != " " else by_numpy)(text, dialect, width)
    if rows is not None and (b"n" in text or b"N" in text):  # inf, and the like
        rows[np.isinf(rows)] = np.nan
    return rows


def by_polars(text: bytes, dialect: Dialect, width: int) -> Rows | None:
    """Let polars read lines of `width` cells; None when it cannot."""
    import polars

    try:
        table = polars.read_csv(
            text,
            has_header=False,
            separator=dialect.separator,
            decimal_comma=dialect.decimal == ",",
            schema={str(n): polars.Float64 if n in dialect.live else polars.String for n in range(width)},
            columns=list(dialect.live),
        )
    except polars.exceptions.PolarsError:
        return None
    rows: Rows = table.to_numpy(order="fortran", writable=True)
    # a row without any number is an empty line, or none that belongs here
    if any(column.null_count() for column in table) and np.isnan(rows).all(axis=1).any():
        return None
    return rows


def by_numpy(text: bytes, dialect: Dialect, width: int) -> Rows | None:
    """Let numpy read lines of `width` cells; None when it cannot."""
    if dialect.decimal == ",":
        text = text.replace(b",", b".")
    separator = None if dialect.separator == " " else dialect.separator
    some = None if width == dialect.columns else dialect.live
    quote = '"' if b'"' in text else None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # it says so when there are only empty lines
            rows = np.loadtxt(
                io.StringIO(text.decode("ascii")),
                delimiter=separator,
                comments=None,
                usecols=some,
                quotechar=quote,
                ndmin=2,
            )
    except ValueError:
        return None
    return rows if rows.shape[1] == dialect.columns else None


class _CellReader:
    """Reads cell by cell; rows that are no data wait until what follows tells what they are.

    Before more data: another piece of the same table, when the header is among them. At the end: a summary in words,
    or one row cut short. Else they are refused.

    Attributes:
        line: lines read so far.
    """

    def __init__(self, dialect: Dialect, source: str) -> None:
        self.line = dialect.data_line
        self._dialect, self._source = dialect, source
        self._waiting: list[tuple[int, list[str]]] = []
        self._any = self._cut_short = False

    @property
    def waiting(self) -> bool:
        """Return whether some rows wait."""
        return bool(self._waiting)

    def read(self, text: str) -> Rows:
        """Return the rows of some lines."""
        rows: list[list[float]] = []
        for line in text.splitlines():
            self.line += 1
            cells = split(line, self._dialect.separator)
            if not cells:
                continue
            values = self._values(cells)
            if values is None:
                self._waiting.append((self.line, cells))
                if len(self._waiting) > MOST_SUMMARY:
                    raise self._strange()
            else:
                self._settle()
                rows.append(values)
        self._any = self._any or bool(rows)
        self._cut_short = not text.endswith("\n")
        return np.array(rows, dtype=float).reshape(-1, self._dialect.columns)

    def end(self) -> None:
        """Refuse what waits and is neither a summary nor a row cut short.

        Raises:
            InputError: names row and column.
        """
        first = self._dialect.live[0]
        words = all(first < len(cells) and cells[first].lstrip(' "')[:1].isalpha() for _, cells in self._waiting)
        if self._waiting and not (self._any and (words or (self._cut_short and len(self._waiting) == 1))):
            raise self._strange()

    def _settle(self) -> None:
        if not self._waiting:
            return
        heading = self._dialect.heading
        if not heading or not all(any(cells == list(row) for _, cells in self._waiting) for row in heading):
            raise self._strange()
        self._waiting.clear()

    def _values(self, cells: list[str]) -> list[float] | None:
        """Return the numbers of a row, those left out at its end as not known; None when it is no row of data."""
        dialect = self._dialect
        if len(cells) > dialect.width and any(cell.strip() for cell in cells[dialect.width :]):
            return None
        values = []
        for number, place in enumerate(dialect.live):
            value = self._value(cells[place], number) if place < len(cells) else np.nan
            if value is None:
                return None
            values.append(value)
        return values

    def _value(self, cell: str, number: int) -> float | None:
        dialect = self._dialect
        return hex_value(cell) if number in dialect.hexadecimal else cell_value(cell, dialect.decimal, dialect.since)

    def _strange(self) -> InputError:
        """Say what is wrong with the first of the rows that wait."""
        dialect = self._dialect
        row, cells = self._waiting[0]
        expected, found = f"{dialect.width} cells", f"{len(cells)}"
        for number, place in enumerate(dialect.live):
            if place < len(cells) and self._value(cells[place], number) is None:
                expected, found = f"a number in column {dialect.names[number]!r}", repr(cells[place][:60])
                break
        do = "Take the row out, or export again."
        line = dialect.separator.join(cells)
        for sign in SEPARATORS:
            others = split(line, sign)
            if sign != dialect.separator and len(others) == dialect.width and len(cells) < len(others):
                expected = f"cells parted by {_named(dialect.separator)}"
                found, do = f"cells parted by {_named(sign)}", "Export the table again with one separator."
        return InputError(self._source, place=f"row {row}", expected=expected, found=found, do=do)


def _named(separator: str) -> str:
    return {"\t": "tabs", " ": "blanks"}.get(separator, repr(separator))
