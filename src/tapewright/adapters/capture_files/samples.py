"""Samples that can be read again from any place on: in a file as they lie, or in memory."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
import numpy.typing as npt

Samples = npt.NDArray[Any]
Decode = Callable[[bytes], Samples]


@dataclass(slots=True)
class InterleavedFile:
    """Samples of all channels side by side in a file, frame after frame.

    Attributes:
        path: the file.
        offset: where the first frame begins, in bytes.
        frame_bytes: bytes of one frame.
        count: frames.
        names: one for each column a frame decodes to.
        decode: from the bytes of n frames to an array, shape (n, columns).
        columns: columns to give, in order.
    """

    path: Path
    offset: int
    frame_bytes: int
    count: int
    decode: Decode
    columns: Sequence[int]
    _file: BinaryIO | None = field(default=None, init=False)

    @property
    def channels(self) -> int:
        """Channels that `read` gives."""
        return len(self.columns)

    def read(self, first: int, count: int) -> list[Samples]:
        """Give `count` samples of each channel from frame `first` on."""
        if self._file is None:
            self._file = self.path.open("rb")
        self._file.seek(self.offset + first * self.frame_bytes)
        table = self.decode(self._file.read(count * self.frame_bytes))
        return [np.ascontiguousarray(table[:, column]) for column in self.columns]

    def close(self) -> None:
        """Close the file."""
        if self._file is not None:
            self._file.close()
            self._file = None


@dataclass(slots=True)
class InMemory:
    """Columns held in memory, each of shape (n,)."""

    columns: Sequence[Samples]

    @property
    def count(self) -> int:
        """Samples of one channel."""
        return self.columns[0].size if self.columns else 0

    @property
    def channels(self) -> int:
        """Channels."""
        return len(self.columns)

    def read(self, first: int, count: int) -> list[Samples]:
        """Give `count` samples of each channel from number `first` on."""
        return [column[first : first + count] for column in self.columns]

    def close(self) -> None:
        """Nothing to close."""
