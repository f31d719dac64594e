"""The rows of a table of text as numbers, a piece at a time: by numpy's reader, or cell by cell where it must be."""

import codecs
import io
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

import numpy as np
import numpy.typing as npt

from tapewright.errors import InputError
from tapewright.recordings.files.csv_cells import cell_value
from tapewright.recordings.files.csv_dialect import Dialect, split
from tapewright.recordings.files.csv_fixed import read_fixed
from tapewright.recordings.files.time_stamps import past_midnight

#: bytes read at once: small enough that all of it stays in the cache
PIECE_BYTES = 1 << 20
#: a line longer than this is none
LONGEST_LINE = 1 << 24
Rows = npt.NDArray[np.float64]


def rows_of(path: Path, dialect: Dialect) -> Iterator[tuple[Rows, int]]:
    """Return the data rows in pieces, shape (n, columns), each with the bytes read so far."""
    with path.open("rb") as file:
        lines = _Lines(file, dialect.encoding)
        lines.skip(dialect.data_line)
        line = dialect.data_line
        clocks: dict[int, float | None] = dict.fromkeys(dialect.stamps, None)
        while text := lines.piece():
            rows = parse(text, dialect, path.name, line, last=lines.ended)
            line += text.count(b"\n")
            if rows.size:
                clocks = _carry_on(rows, clocks)
                yield rows, file.tell()


def _carry_on(rows: Rows, clocks: dict[int, float | None]) -> dict[int, float | None]:
    """Let clocks, by column with the last time read, go on past midnight; give the last times now."""
    for column, before in clocks.items():
        rows[:, column] = past_midnight(rows[:, column], before)
        clocks[column] = float(rows[-1, column])
    return clocks


class _Lines:
    """Whole lines of a text file as bytes: UTF-16 turned to UTF-8, the line ends of all systems to one."""

    def __init__(self, file: BinaryIO, encoding: str) -> None:
        self.ended = False
        self._file = file
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
            raw = self._file.read(PIECE_BYTES)
            self.ended = not raw
            text = self._left + self._plain(raw)
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

    def _plain(self, raw: bytes) -> bytes:
        return raw if self._decoder is None else self._decoder.decode(raw, not raw).encode("utf-8", "replace")


def parse(text: bytes, dialect: Dialect, source: str, first_line: int, *, last: bool = True) -> Rows:
    """Turn lines into numbers; `last` says that the file ends with them, so that the last may be cut short."""
    if dialect.plain:
        rows = None
        if dialect.separator != " ":
            rows = read_fixed(text, dialect.columns, dialect.separator, dialect.decimal)
        if rows is None:
            rows = _by_numpy(text, dialect)
        if rows is not None:
            return rows
    return _cell_by_cell(text.decode("utf-8", "replace"), dialect, source, first_line, last=last)


def _by_numpy(text: bytes, dialect: Dialect) -> Rows | None:
    """Let numpy read it; None when there is something else than digits, or another number of columns."""
    if not text.strip():
        return np.empty((0, dialect.columns))
    if dialect.decimal == ",":
        text = text.replace(b",", b".")
    separator = None if dialect.separator == " " else dialect.separator
    try:
        rows = np.loadtxt(io.StringIO(text.decode("ascii")), delimiter=separator, comments=None, ndmin=2)
    except ValueError:
        return None
    return rows if rows.shape[1] == dialect.columns else None


def _cell_by_cell(text: str, dialect: Dialect, source: str, first_line: int, *, last: bool) -> Rows:
    """Read cell by cell: levels in words, quotes, cells left out; say where it cannot be read."""
    rows: list[list[float | None]] = []
    lines = text.splitlines()
    for number, line in enumerate(lines):
        cells = split(line, dialect.separator)
        if not cells:
            continue
        values = [cell_value(cell, dialect.decimal, dialect.since) for cell in cells]
        if len(values) < dialect.columns:
            values += [float("nan")] * (dialect.columns - len(values))
        if len(values) > dialect.columns or None in values:
            if last and number == len(lines) - 1 and rows:
                break  # the last line of the file, cut short
            raise _strange_row(cells, values, dialect, source, first_line + number + 1)
        rows.append(values)
    return np.array(rows, dtype=float).reshape(-1, dialect.columns)


def _strange_row(cells: list[str], values: list[float | None], dialect: Dialect, source: str, row: int) -> InputError:
    if len(cells) > dialect.columns:
        expected, found = f"{dialect.columns} cells", f"{len(cells)}"
    else:
        column = values.index(None)
        expected, found = f"a number in column {dialect.names[column]!r}", repr(cells[column][:60])
    return InputError(
        source, place=f"row {row}", expected=expected, found=found, do="Take the row out, or export again."
    )
