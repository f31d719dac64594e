r"""A recording as a trace: what a plot is drawn from, for each column its time, its least and its greatest value.

Level changes (one column holds three edges: least 0, greatest 1; the next holds none: one level):

    1        +-+ +--------
             | | |
    0  ------+ +-+
       |     .   |       |   columns

Samples lie once on disk outside the book, with a pyramid over them in memory.
"""

import contextlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from tapewright.bench.traces.pyramid import BLOCK, Pyramid, PyramidBuilder
from tapewright.recordings.capture import RawEdges
from tapewright.recordings.edges.clock import Clock

FloatArray = npt.NDArray[np.float64]
#: A plot is at most so many columns wide, whatever it asks for.
MOST_COLUMNS = 8192


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """A stretch of a trace.

    Attributes:
        times_s: shape (n,), not decreasing.
        low: shape (n,), the least value at each time; NaN where nothing is known.
        high: shape (n,), the greatest.
        each: True when every point is one sample or one edge, so that a line through them is the recording itself.
    """

    times_s: FloatArray
    low: npt.NDArray[Any]
    high: npt.NDArray[Any]
    each: bool


class Trace(Protocol):
    """A recording that can be drawn."""

    @property
    def begin_s(self) -> float:
        """When it begins."""

    @property
    def end_s(self) -> float:
        """When it ends."""

    def window(self, from_s: float, to_s: float, columns: int) -> Window:
        """Return a stretch of it in about so many columns, with one point beyond either end where there is one."""

    def close(self) -> None:
        """Let go of what it holds on disk."""


@dataclass(frozen=True, slots=True, eq=False)
class SteppedTrace:
    """Level changes of one channel, 0 and 1."""

    edges: RawEdges

    @property
    def begin_s(self) -> float:
        """Return the begin of the recording."""
        return self.edges.begin_s

    @property
    def end_s(self) -> float:
        """Return the end of the recording."""
        return self.edges.end_s

    def window(self, from_s: float, to_s: float, columns: int) -> Window:
        """Return a stretch of it: each edge as a step where there is room, else columns."""
        from_s, to_s = max(from_s, self.begin_s), min(to_s, self.end_s)
        if not to_s > from_s:
            return Window(np.empty(0), np.empty(0, np.uint8), np.empty(0, np.uint8), True)
        first, last = np.searchsorted(self.edges.times_s, (from_s, to_s))
        if last - first <= columns:
            return self._steps(from_s, to_s, int(first), int(last))
        bounds = np.linspace(from_s, to_s, columns + 1)
        place = np.searchsorted(self.edges.times_s, bounds)
        level = self._level_before(place[:-1])
        moves = np.diff(place) > 0
        return Window((bounds[:-1] + bounds[1:]) / 2, np.where(moves, 0, level), np.where(moves, 1, level), False)

    def close(self) -> None:
        """Nothing is on disk."""

    def _steps(self, from_s: float, to_s: float, first: int, last: int) -> Window:
        inside = np.arange(first, last)
        times = np.concatenate(([from_s], np.repeat(self.edges.times_s[first:last], 2), [to_s]))
        levels = np.repeat(self._level_before(np.append(inside, last)), 2)
        return Window(times, levels, levels, True)

    def _level_before(self, place: npt.NDArray[np.int64]) -> npt.NDArray[np.uint8]:
        """Return the level just before each edge, shape (n,); place n is after the last."""
        after = self.edges.level_after
        begins = bool(self.edges.starts_high) if self.edges.starts_high is not None or not after.size else not after[0]
        return np.concatenate(([begins], after)).astype(np.uint8)[place]


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
