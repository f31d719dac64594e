"""Samples that can be read again from any place on: in a file as they lie, or in memory.

From samples to recordings, the same for every format that holds samples.
"""

import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, BinaryIO, Protocol

import numpy as np
import numpy.typing as npt

from tapewright.recordings.capture import FloatArray, Recording, Samples, Suspicion
from tapewright.recordings.edges.clock import Clock, RegularClock
from tapewright.recordings.edges.extract import SampleReader, extract
from tapewright.recordings.files.options import Options

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
        """Return `count` samples of each channel from frame `first` on."""
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
        """Return `count` samples of each channel from number `first` on."""
        return [column[first : first + count] for column in self.columns]

    def close(self) -> None:
        """Nothing to close."""


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

    def add(self, columns: Sequence[Samples]) -> None:
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


class ClosableReader(SampleReader, Protocol):
    """Samples that hold a file open."""

    def close(self) -> None:
        """Let go of it."""


def record_samples(
    reader: ClosableReader,
    clock: Clock,
    *,
    kind: str,
    names: Sequence[str],
    chosen: Sequence[int],
    options: Options,
    suspicions: tuple[Suspicion, ...] = (),
    missing: FloatArray | None = None,
) -> tuple[Recording, ...]:
    """Find the edges of every channel of `reader`, which gives those of `names` that were `chosen`."""
    if options.tap is not None:
        options.tap(reader, clock, tuple(names[index] for index in chosen))
        reader.close()
        return ()
    try:
        found = extract(
            reader,
            clock,
            thresholds=options.thresholds(),
            suspicions=suspicions,
            missing=missing,
            progress=options.progress,
        )
    finally:
        reader.close()
    rate_hz = 1 / clock.interval_s if isinstance(clock, RegularClock) else None
    return tuple(
        Recording(
            edges=each.edges,
            kind=kind,
            channel=names[index],
            channels=tuple(names),
            samples=reader.count,
            rate_hz=rate_hz,
            threshold_v=None if each.thresholds is None else (each.thresholds.low, each.thresholds.high),
        )
        for index, each in zip(chosen, found, strict=True)
    )
