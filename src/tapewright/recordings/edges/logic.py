r"""Edges of sampled logic: one or many channels, each a bit of a word.

Picture (o = sample, x = the edge, midway between two samples):

    1        o---o
             :   :
             x   x         instant midway, u = interval / sqrt 12 (uniform: JCGM 100:2008, 4.3.7)
             :   :
    0    o---o   o---o

All channels are read in one pass: a block of words whose lowest and highest are the same holds no change.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from tapewright.recordings.edges.blocks import BATCH, BLOCK, Samples, extremes

#: standard uncertainty of an instant that lies anywhere between two samples, in sample intervals
BETWEEN_TWO_SAMPLES = 12**-0.5


@dataclass(frozen=True, slots=True, eq=False)
class Changes:
    """Changes of a word of bits.

    Attributes:
        at: shape (n,), index of the first sample with the new word.
        word: shape (n,), the new word.
        before: shape (n,), the word before.
    """

    at: npt.NDArray[np.int64]
    word: npt.NDArray[Any]
    before: npt.NDArray[Any]

    def of_bit(self, bit: int) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.bool_]]:
        """Return instant (in samples, midway) and level after, for the changes of one bit (0 = least significant)."""
        one = self.word.dtype.type(1)
        mask = one << self.word.dtype.type(bit)
        moved = np.flatnonzero((self.word ^ self.before) & mask)
        level: npt.NDArray[np.bool_] = np.asarray((self.word[moved] & mask) != 0)
        return self.at[moved].astype(np.float64) - 0.5, level


class WordStream:
    """Feed words, shape (n,) of an unsigned type, in pieces of any size; get the changes."""

    def __init__(self) -> None:
        self.fed = 0
        self.first_word: int | None = None
        self._word: int | None = None

    def feed(self, words: Samples) -> Changes:
        """Return the changes in `words`."""
        parts = [self._batch(words[first : first + BATCH]) for first in range(0, words.size, BATCH)]
        if not parts:
            return Changes(np.empty(0, np.int64), words[:0], words[:0])
        return join_changes(parts)

    def _batch(self, words: Samples) -> Changes:
        if self._word is None:
            self.first_word = self._word = int(words[0])
        at = _changed(words, self._word)
        before = words[np.maximum(at - 1, 0)]
        if at.size and at[0] == 0:
            before[0] = self._word
        self._word = int(words[-1])
        start, self.fed = self.fed, self.fed + words.size
        return Changes(at + start, words[at], before)


def join_changes(parts: list[Changes]) -> Changes:
    """Put the changes of successive pieces together."""
    return Changes(
        np.concatenate([part.at for part in parts]),
        np.concatenate([part.word for part in parts]),
        np.concatenate([part.before for part in parts]),
    )


def _changed(words: Samples, before: int) -> npt.NDArray[np.int64]:
    """Return the indices of words that differ from the one before."""
    found = extremes(words, BLOCK)
    held = np.concatenate([[words.dtype.type(before)], found.highest[:-1]])
    busy = np.flatnonzero((found.lowest != found.highest) | (found.highest != held))
    if not busy.size:
        return busy
    if 4 * busy.size > found.lowest.size:
        first = [0] if int(words[0]) != before else []
        return np.concatenate([np.array(first, np.int64), np.flatnonzero(words[1:] != words[:-1]) + 1])
    # also the block after a busy one: its first word may differ from the last of the busy one
    busy = np.unique(np.concatenate([busy, busy + 1]))
    whole = words.size // BLOCK
    full = busy[busy < whole]
    rows = words[: whole * BLOCK].reshape(-1, BLOCK)[full]
    previous = words[np.maximum(full * BLOCK - 1, 0)]
    if full.size and full[0] == 0:
        previous[0] = before
    row, column = np.nonzero(rows != np.column_stack([previous, rows[:, :-1]]))
    changed: npt.NDArray[np.int64] = full[row] * BLOCK + column
    if busy.size and whole in busy:
        rest = words[whole * BLOCK :]
        previous_rest = np.concatenate([words[whole * BLOCK - 1 : whole * BLOCK] if whole else [before], rest[:-1]])
        changed = np.concatenate([changed, whole * BLOCK + np.flatnonzero(rest != previous_rest)])
    return changed
