r"""Columns of numbers, wherever they lie: in memory, side by side in a file, or one behind the other in a file.

Picture:

    rows        a0 b0 | a1 b1 | a2 b2 | ...        a column is every second number
    planes      a0 a1 a2 ... | b0 b1 b2 ...        a column is a stretch of the file
"""

import contextlib
import mmap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import IO, Any, Protocol

import numpy as np

from tapewright.recordings.capture import NumberType, Samples

#: fewer bytes than this are read rather than mapped
SMALLEST_MAPPED = 1 << 16


class Column(Protocol):
    """One column."""

    @property
    def count(self) -> int:
        """Numbers in it."""

    @property
    def dtype(self) -> NumberType:
        """Their type, as they lie."""

    def read(self, first: int, count: int) -> Samples:
        """Return `count` numbers from number `first` on, shape (count,)."""


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """A column in memory."""

    array: Samples

    @property
    def count(self) -> int:
        """Numbers in it."""
        return self.array.size

    @property
    def dtype(self) -> NumberType:
        """Their type."""
        return self.array.dtype

    def read(self, first: int, count: int) -> Samples:
        """Return some of them."""
        return self.array[first : first + count]


class Rows:
    """Rows of one type in a file, from a place on; remembers the rows it gave last.

    Args:
        file: open for reading.
        offset: where the first row begins.
        row: the type of a row: a number, a few of one type, or a structure.
        count: rows.
    """

    def __init__(self, file: IO[bytes], offset: int, row: NumberType, count: int) -> None:
        self.count = count
        self._file, self._offset, self._row = file, offset, row
        self._last: tuple[int, int] | None = None
        self._given = np.empty(0)

    def read(self, first: int, count: int) -> Samples:
        """Return `count` rows from row `first` on."""
        if self._last != (first, count):
            wanted = max(0, min(count, self.count - first)) * self._row.itemsize
            # a sub-array type would be taken apart by frombuffer: one field keeps it whole
            some = _stretch(self._file, self._offset + first * self._row.itemsize, wanted)
            self._given = np.frombuffer(some, np.dtype([("row", self._row)]))["row"]
            self._last = (first, count)
        return self._given


def _stretch(file: IO[bytes], begin: int, wanted: int) -> Any:
    """Return some bytes of a file: mapped, so that nothing is copied; read, where it is no file of its own or short.

    Only a stretch is mapped at a time and let go with the array made from it, so that memory stays flat.
    """
    whole = begin // mmap.ALLOCATIONGRANULARITY * mmap.ALLOCATIONGRANULARITY
    if wanted >= SMALLEST_MAPPED:
        with contextlib.suppress(OSError, ValueError):
            mapped = mmap.mmap(file.fileno(), begin - whole + wanted, access=mmap.ACCESS_READ, offset=whole)
            return memoryview(mapped)[begin - whole :]
    file.seek(begin)
    return file.read(wanted)


@dataclass(frozen=True, slots=True, eq=False)
class OfRows:
    """One column of rows: a field by name, one of several numbers by place, or the row itself."""

    rows: Rows
    dtype: NumberType
    part: str | int | None = None

    @property
    def count(self) -> int:
        """Numbers in it."""
        return self.rows.count

    def read(self, first: int, count: int) -> Samples:
        """Return some of them."""
        rows = self.rows.read(first, count)
        if self.part is None:
            return rows
        return rows[self.part] if isinstance(self.part, str) else rows[:, self.part]


def plain(column: Samples) -> Samples:
    """Return a contiguous array in the byte order of this machine; truth values as 0 and 1."""
    if column.dtype.kind == "b":
        return np.ascontiguousarray(column).view(np.uint8)
    if column.dtype == np.float16 or column.dtype.itemsize > 8:
        with np.errstate(all="ignore"):  # what is beyond a double becomes infinite, and is no level
            return column.astype(np.float64)
    return np.ascontiguousarray(column, dtype=column.dtype.newbyteorder("="))


@dataclass(slots=True)
class ColumnReader:
    """Some columns of equal length, read together."""

    columns: Sequence[Column]

    @property
    def count(self) -> int:
        """Samples of one channel."""
        return self.columns[0].count if self.columns else 0

    @property
    def channels(self) -> int:
        """Channels."""
        return len(self.columns)

    def read(self, first: int, count: int) -> list[Samples]:
        """Return `count` samples of each channel from number `first` on."""
        return [plain(column.read(first, count)) for column in self.columns]

    def close(self) -> None:
        """Whoever opened the file closes it."""
