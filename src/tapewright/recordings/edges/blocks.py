r"""Where something happens: lowest and highest sample of each block, and the blocks worth a closer look.

Picture:

    samples   ____________________/~~~~~~~~\______________________________
    blocks   |         |         |         |         |         |         |
    touches     low       both      both      low       low       low
    look at               x         x         (x)

A block touches *low* when its lowest sample is at or below the low threshold, *high* when its highest is at or
above the high one. Only a block that touches both, or that touches another level than the last touched block
left, can hold an edge; the rest costs one pass over memory and is never looked at again. Long recordings are first
looked at in long blocks, of which the few that are worth it are looked at once more in short ones.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from tapewright.recordings.capture import NumberType, Samples

Indices = npt.NDArray[np.int64]

#: samples in a block; measured: 512 is the best trade between reduceat's own cost and what must be looked at
BLOCK = 512
#: samples worked on at once, so that both passes over them happen in the cache
CHUNK = 512 * 512
#: samples whose busy blocks are looked at together: few calls of numpy, and still little memory
BATCH = 1 << 25


@dataclass(frozen=True, slots=True)
class Thresholds:
    """Level at or below which a sample is low, the middle, and the level at or above which it is high."""

    low: float
    middle: float
    high: float

    def as_type(self, dtype: NumberType) -> tuple[Any, Any]:
        """Return (low, high) such that comparing samples of `dtype` with them is exact and needs no conversion."""
        if dtype.kind in "ui":
            limits = np.iinfo(dtype)
            low = int(np.clip(np.floor(self.low), limits.min, limits.max))
            high = int(np.clip(np.ceil(self.high), limits.min, limits.max))
            return low, high
        return self.low, self.high


@dataclass(frozen=True, slots=True, eq=False)
class Extremes:
    """Lowest and highest sample of each block of `block` samples; the last block may be shorter.

    Attributes:
        lowest: shape (blocks,); NaN where the block holds a NaN.
        highest: shape (blocks,).
        block: samples in a block.
    """

    lowest: Samples
    highest: Samples
    block: int = BLOCK

    def part(self, first: int, count: int) -> "Extremes":
        """Return `count` blocks from number `first` on."""
        return Extremes(self.lowest[first : first + count], self.highest[first : first + count], self.block)


def extremes(samples: Samples, block: int = BLOCK) -> Extremes:
    """Return the extremes of each block of `samples`, shape (n,); works through them in pieces that fit the cache."""
    whole = samples.size // block
    blocks = -(-samples.size // block)
    lowest, highest = np.empty(blocks, samples.dtype), np.empty(blocks, samples.dtype)
    at_once = max(1, CHUNK // block)
    starts = np.arange(0, at_once * block, block)
    for first in range(0, whole, at_once):
        last = min(whole, first + at_once)
        piece = samples[first * block : last * block]
        # not with out=: numpy would keep the interpreter to itself, and no two pieces be looked at side by side
        lowest[first:last] = np.minimum.reduceat(piece, starts[: last - first])
        highest[first:last] = np.maximum.reduceat(piece, starts[: last - first])
    if blocks > whole:
        rest = samples[whole * block :]
        lowest[whole], highest[whole] = rest.min(), rest.max()
    return Extremes(lowest, highest, block)


def blocks_to_look_at(found: Extremes, thresholds: Thresholds, state: bool | None) -> Indices:
    """Return the numbers of the blocks that may hold an edge or the first touch, when the level before is `state`."""
    low, high = thresholds.as_type(found.lowest.dtype)
    touches_low, touches_high = found.lowest <= low, found.highest >= high
    unknown = np.isnan(found.lowest) if found.lowest.dtype.kind == "f" else np.zeros(found.lowest.shape, bool)
    several = (touches_low & touches_high) | unknown
    touched = np.flatnonzero(touches_low | touches_high | unknown)
    if not touched.size:
        return touched
    left = touches_high[touched].astype(np.int8)
    left[several[touched]] = 2  # what such a block leaves behind is not known before it is resolved
    before = np.concatenate([[np.int8(2 if state is None else state)], left[:-1]])
    worth: Indices = touched[(left == 2) | (left != before)]
    return worth


@dataclass(frozen=True, slots=True, eq=False)
class Entries:
    """Samples at which the signal enters the other level.

    Attributes:
        at: shape (n,), index of the first sample on the new level.
        high: shape (n,), True where the new level is high.
        first_level: level of the first touching sample; None when nothing touches.
        last_level: level after the last touching sample; the level before when nothing touches.
    """

    at: Indices
    high: npt.NDArray[np.bool_]
    first_level: bool | None
    last_level: bool | None


def entries(samples: Samples, found: Extremes, thresholds: Thresholds, state: bool | None) -> Entries:
    """Find where `samples`, shape (n,), enter the other level; `state` is the level before the first of them.

    Args:
        samples: the samples that `found` was made from.
        found: their extremes.
        thresholds: the levels.
        state: level left by what came before; None when nothing has touched a level yet.
    """
    looked_at = blocks_to_look_at(found, thresholds, state)
    if not looked_at.size:
        return Entries(looked_at, np.empty(0, bool), None, state)
    if found.block > BLOCK:
        return _in_shorter_blocks(samples, looked_at, found.block, thresholds, state)
    index, high = _touching(samples, looked_at, found, thresholds)
    if not index.size:
        return Entries(index, high, None, state)
    before = np.concatenate([[high[0] if state is None else state], high[:-1]])
    changed = np.flatnonzero(high != before)
    return Entries(index[changed], high[changed], bool(high[0]), bool(high[-1]))


def _in_shorter_blocks(
    samples: Samples, looked_at: Indices, block: int, thresholds: Thresholds, state: bool | None
) -> Entries:
    """Look once more at long blocks worth it, in short ones; those between them leave the level as it was."""
    if 2 * looked_at.size > -(-samples.size // block):
        return entries(samples, extremes(samples), thresholds, state)
    some = _gather(samples, looked_at, block)
    found = entries(some, extremes(some), thresholds, state)
    at: Indices = looked_at[found.at // block] * block + found.at % block
    return Entries(at, found.high, found.first_level, found.last_level)


def _touching(
    samples: Samples, looked_at: Indices, found: Extremes, thresholds: Thresholds
) -> tuple[Indices, npt.NDArray[np.bool_]]:
    """Return index and level of the touching samples of some blocks; runs on one level cut to their first."""
    block = found.block
    if 4 * looked_at.size > -(-samples.size // block):
        parts = [
            (first, _touches(samples[first : first + CHUNK], thresholds)) for first in range(0, samples.size, CHUNK)
        ]
        index = np.concatenate([first + kept for first, (kept, _) in parts])
        return index, np.concatenate([level for _, (_, level) in parts])
    # a block that lies on one level all through needs no look: its first sample tells
    low, high = thresholds.as_type(samples.dtype)
    all_high, all_low = found.lowest[looked_at] >= high, found.highest[looked_at] <= low
    flat = all_high | all_low
    mixed = looked_at[~flat]
    kept, level = _touches(_gather(samples, mixed, block), thresholds)
    index = np.concatenate([looked_at[flat] * block, mixed[kept // block] * block + kept % block])
    order = np.argsort(index, kind="stable")
    return index[order], np.concatenate([all_high[flat], level])[order]


def _touches(samples: Samples, thresholds: Thresholds) -> tuple[Indices, npt.NDArray[np.bool_]]:
    """Return the samples that lie on a level, and which; where all do, only the first of each run."""
    low, high = thresholds.as_type(samples.dtype)
    is_high, is_low = samples >= high, samples <= low
    if samples.size and np.count_nonzero(is_high) + np.count_nonzero(is_low) == samples.size:
        kept = np.concatenate([[0], np.flatnonzero(is_high[1:] != is_high[:-1]) + 1])
    else:
        kept = np.flatnonzero(is_high | is_low)
    return kept, is_high[kept]


def _gather(samples: Samples, looked_at: Indices, block: int) -> Samples:
    """Copy some blocks, one behind the other, cut where the samples end."""
    whole = samples.size // block
    full = looked_at[looked_at < whole]
    parts = samples[: whole * block].reshape(-1, block)[full].reshape(-1)
    return parts if full.size == looked_at.size else np.concatenate([parts, samples[whole * block :]])
