"""A sampled recording as a trace: its samples once on disk outside the book, a pyramid over them in memory."""

import contextlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from tapewright.bench.traces.pyramid import BLOCK, Pyramid, PyramidBuilder
from tapewright.bench.traces.window import Window
from tapewright.recordings.edges.clock import Clock

#: Samples copied at a time: fits the cache of the processor, and is a whole number of blocks.
PIECE = 4096 * BLOCK


@dataclass(frozen=True, slots=True, eq=False)
class SampledTrace:
    """Samples of one channel.

    Attributes:
        path: file with the samples one after the other, as numbers of `dtype`.
        dtype: their type.
        clock: gives the time of each.
        pyramid: their least and greatest values.
    """

    path: Path
    dtype: np.dtype[Any]
    clock: Clock
    pyramid: Pyramid

    @property
    def begin_s(self) -> float:
        """Return the time of the first sample."""
        return self._time(0)

    @property
    def end_s(self) -> float:
        """Return the time of the last sample."""
        return self._time(max(self.pyramid.count - 1, 0))

    def window(self, from_s: float, to_s: float, columns: int) -> Window:
        """Return a stretch of it."""
        first, last = self._at(from_s) - 1, self._at(to_s) + 1
        found = self.pyramid.columns(first, last, columns, self._read)
        each = bool(found.low.size) and int(found.bounds[-1] - found.bounds[0]) == found.low.size
        middles = (found.bounds[:-1] + found.bounds[1:] - 1) / 2
        return Window(self.clock.seconds(middles), found.low, found.high, each)

    def close(self) -> None:
        """Take the samples off the disk."""
        with contextlib.suppress(OSError):
            self.path.unlink(missing_ok=True)

    def _read(self, first: int, last: int) -> npt.NDArray[Any]:
        return np.fromfile(self.path, self.dtype, max(0, last - first), offset=first * self.dtype.itemsize)

    def _time(self, sample: int) -> float:
        return float(self.clock.seconds(np.array([float(sample)]))[0])

    def _at(self, time_s: float) -> int:
        """Return the number of the first sample at or after a time."""
        low, high = 0, self.pyramid.count
        while low < high:
            middle = (low + high) // 2
            low, high = (middle + 1, high) if self._time(middle) < time_s else (low, middle)
        return low


def take_samples(reader: Any, clock: Clock, path: Path, progress: Callable[[float], None]) -> SampledTrace:
    """Copy the samples of the reader's first channel to `path` and build the pyramid on the way, in one pass."""
    builder, dtype = PyramidBuilder(), np.dtype(np.uint8)
    with path.open("wb") as file:
        for first in range(0, reader.count, PIECE):
            samples = _native(reader.read(first, min(PIECE, reader.count - first))[0])
            dtype = samples.dtype
            builder.add(samples)
            file.write(samples.data.cast("B"))
            progress(first / reader.count)
    return SampledTrace(path, dtype, clock, builder.done())


def _native(samples: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """Return them in the order of bytes of this machine, one after the other; yes and no as 1 and 0."""
    samples = samples.view(np.uint8) if samples.dtype == bool else samples
    return np.ascontiguousarray(samples, samples.dtype.newbyteorder("="))
