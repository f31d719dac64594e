r"""A pyramid of least and greatest values: any stretch of any recording becomes a few thousand points at once.

Picture (o = sample; each level holds the least and the greatest of FAN blocks of the one below):

    level 1    [   lo hi   ]           [   lo hi   ]          512 samples each
    level 0    [lo hi][lo hi] ...                              64 samples each
    samples    o o o o o o o o o o o o o o o o o o o o o

A window of n samples drawn in w columns takes them from the coarsest level whose blocks are no longer than n / w; so it
costs a few w whatever n is. Every column is exactly the least and the greatest of the samples between its bounds.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

Values = npt.NDArray[Any]
Bounds = npt.NDArray[np.int64]

BLOCK, FAN = 64, 8
#: Gives samples first..last of the recording.
ReadSamples = Callable[[int, int], Values]


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """A stretch of a recording in columns.

    Attributes:
        bounds: shape (n + 1,), column i stands for samples bounds[i] to bounds[i + 1] - 1.
        low: shape (n,), the least of them; NaN only where all are NaN.
        high: shape (n,), the greatest.
    """

    bounds: Bounds
    low: Values
    high: Values


@dataclass(frozen=True, slots=True, eq=False)
class Pyramid:
    """Least and greatest values of a recording at several levels.

    Attributes:
        count: samples of the recording.
        levels: (least, greatest) of blocks of BLOCK, BLOCK * FAN, ... samples; the last block may be short.
    """

    count: int
    levels: tuple[tuple[Values, Values], ...]

    @property
    def size_bytes(self) -> int:
        """What it takes in memory."""
        return sum(low.nbytes + high.nbytes for low, high in self.levels)

    def columns(self, first: int, last: int, width: int, read: ReadSamples) -> Columns:
        """Return samples first..last-1 in about `width` columns; where they are fewer, each has one of its own.

        Where a column is longer than a block, the ends of the window are moved out to whole blocks.
        """
        first, last = max(0, first), min(self.count, last)
        step = (last - first) / max(width, 1)
        if step < BLOCK:
            return _of_samples(read(first, last), first, width)
        level = 0
        while level + 1 < len(self.levels) and BLOCK * FAN ** (level + 1) <= step:
            level += 1
        size = BLOCK * FAN**level
        low, high = self.levels[level]
        begin, end = first // size, -(-last // size)
        inside = _spread(end - begin, width)
        return Columns(
            np.minimum((begin + inside) * size, self.count),
            *least_and_greatest(low[begin:end], high[begin:end], inside[:-1]),
        )


class PyramidBuilder:
    """Takes samples piece by piece; every piece but the last must be a whole number of blocks."""

    def __init__(self) -> None:
        """Begin without samples."""
        self._count = 0
        self._pieces: list[tuple[Values, Values]] = []

    def add(self, piece: Values) -> None:
        """Take the next samples, shape (n,).

        Raises:
            ValueError: when the piece before was not a whole number of blocks.
        """
        if self._count % BLOCK:
            raise ValueError(f"only the last piece may be no whole number of blocks of {BLOCK}")
        if piece.size:
            self._pieces.append(least_and_greatest(piece, piece, np.arange(0, piece.size, BLOCK)))
            self._count += piece.size

    def done(self) -> Pyramid:
        """Return the pyramid."""
        if not self._pieces:
            return Pyramid(0, ())
        low, high = (np.concatenate([piece[side] for piece in self._pieces]) for side in (0, 1))
        levels = [(low, high)]
        while levels[-1][0].size > FAN:
            low, high = levels[-1]
            levels.append(least_and_greatest(low, high, np.arange(0, low.size, FAN)))
        return Pyramid(self._count, tuple(levels))


def least_and_greatest(low: Values, high: Values, starts: Bounds) -> tuple[Values, Values]:
    """Return least of `low` and the greatest of `high` from each start to the next; NaN counts only where all are."""
    if low.dtype == bool:
        low, high = low.view(np.uint8), high.view(np.uint8)
    least, greatest = (np.fmin, np.fmax) if low.dtype.kind == "f" else (np.minimum, np.maximum)
    return least.reduceat(low, starts), greatest.reduceat(high, starts)


def _of_samples(samples: Values, first: int, width: int) -> Columns:
    if not samples.size:
        return Columns(np.array([first], np.int64), samples, samples)
    inside = _spread(samples.size, width) if samples.size > width else np.arange(samples.size + 1)
    return Columns(first + inside, *least_and_greatest(samples, samples, inside[:-1]))


def _spread(things: int, columns: int) -> Bounds:
    """Return the bounds of at most so many columns, none empty, over so many things."""
    columns = max(1, min(columns, things))
    return np.asarray(np.arange(columns + 1, dtype=np.int64) * things // columns)
