"""Columns put aside while a file is read once: in memory while they are few, in a temporary file when they are many."""

import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import IO, Any

import numpy as np
import numpy.typing as npt

#: bytes kept in memory before a temporary file is used
IN_MEMORY = 64 << 20


@dataclass(slots=True)
class Spool:
    """Rows of `width` numbers; add pieces, then read them again from any place on.

    Attributes:
        width: columns.
        count: rows added.
    """

    width: int
    count: int = 0
    _file: IO[bytes] = field(default_factory=lambda: tempfile.SpooledTemporaryFile(max_size=IN_MEMORY))  # noqa: SIM115

    def add(self, columns: Sequence[npt.NDArray[Any]]) -> None:
        """Put aside one more piece: for each column an array of shape (n,)."""
        table = np.column_stack([np.asarray(column, dtype=np.float64) for column in columns])
        self._file.write(table.tobytes())
        self.count += table.shape[0]

    @property
    def channels(self) -> int:
        """Columns that `read` gives."""
        return self.width

    def read(self, first: int, count: int) -> list[npt.NDArray[np.float64]]:
        """Return `count` rows from row `first` on, as columns."""
        self._file.seek(first * self.width * 8)
        table = np.frombuffer(self._file.read(count * self.width * 8), np.float64).reshape(-1, self.width)
        return [np.ascontiguousarray(table[:, column]) for column in range(self.width)]

    def close(self) -> None:
        """Let go of the temporary file."""
        self._file.close()
