"""The rows of a table of text as numbers, a piece at a time: by numpy's reader, or cell by cell where it must be."""

import io
from collections.abc import Iterator
from pathlib import Path
from typing import TextIO

import numpy as np
import numpy.typing as npt

from tapewright.adapters.capture_files.csv_cells import cell_value
from tapewright.adapters.capture_files.csv_dialect import Dialect, split
from tapewright.errors import InputError

#: characters read at once; about half a million rows
PIECE_CHARACTERS = 1 << 23
Rows = npt.NDArray[np.float64]


def rows_of(path: Path, dialect: Dialect) -> Iterator[tuple[Rows, int]]:
    """Give the data rows in pieces, shape (n, columns), each with the characters read so far."""
    with path.open(encoding=dialect.encoding, errors="replace", newline=None) as file:
        for _ in range(dialect.data_line):
            file.readline()
        line, read = dialect.data_line, 0
        while text := _whole_lines(file):
            read += len(text)
            rows = parse(text, dialect, path.name, line)
            line += text.count("\n")
            if rows.size:
                yield rows, read


def _whole_lines(file: TextIO) -> str:
    """Read a piece of text that ends with a line."""
    text = file.read(PIECE_CHARACTERS)
    return text + file.readline(PIECE_CHARACTERS) if text and not text.endswith("\n") else text


def parse(text: str, dialect: Dialect, source: str, first_line: int) -> Rows:
    """Turn lines into numbers."""
    if dialect.plain:
        try:
            return _fast(text, dialect)
        except ValueError:
            # something else than digits further down: read it cell by cell, and say where it fails
            pass
    return _cell_by_cell(text, dialect, source, first_line)


def _fast(text: str, dialect: Dialect) -> Rows:
    if not text.strip():
        return np.empty((0, dialect.columns))
    if dialect.decimal == ",":
        text = text.replace(",", ".")
    separator = None if dialect.separator == " " else dialect.separator
    rows = np.loadtxt(io.StringIO(text), delimiter=separator, comments=None, ndmin=2)
    if rows.shape[1] != dialect.columns:
        raise ValueError("another number of columns")
    return rows


def _cell_by_cell(text: str, dialect: Dialect, source: str, first_line: int) -> Rows:
    rows = []
    lines = text.split("\n")
    for number, line in enumerate(lines):
        cells = split(line, dialect.separator)
        if not cells:
            continue
        values = [cell_value(cell, dialect.decimal) for cell in cells]
        if len(values) < dialect.columns:
            values += [float("nan")] * (dialect.columns - len(values))
        if len(values) > dialect.columns or None in values:
            if number == len(lines) - 1:
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
