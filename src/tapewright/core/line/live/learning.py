"""What the levels are, from the first stretch of a line that is being watched."""

from typing import Any

import numpy as np
import numpy.typing as npt

from tapewright.core.line.edges.blocks import Samples, Thresholds
from tapewright.core.line.edges.extract import survey
from tapewright.core.line.edges.learned import Learned, learn_levels

#: edges that show what the levels are: two characters or three; where they sag, how they do needs more of them
ENOUGH_FLAT, ENOUGH_SAGGING, ENOUGH_LOGIC = 12, 30, 1
#: a hop moves when it swings at least this part of what the liveliest does
MOVES = 0.5


class _InMemory:
    """Some samples of one channel, as a file of them would be read."""

    channels = 1

    def __init__(self, samples: Samples) -> None:
        self._samples, self.count = samples, samples.size

    def read(self, first: int, count: int) -> list[Samples]:
        """Give `count` samples from number `first` on."""
        return [self._samples[first : first + count]]


def learn(samples: npt.NDArray[Any], interval_s: float, wanted: Thresholds | None) -> Learned:
    """Learn the levels from samples, shape (n,)."""
    if samples.dtype == np.bool_:
        samples = samples.view(np.uint8)
    reader = _InMemory(samples)
    ((kept, some),) = survey(reader, lambda fraction: None)
    return learn_levels(reader, 0, kept, some, interval_s, wanted)


def enough_edges(learned: Learned, *, told: bool, logic: bool) -> int:
    """Give how many edges must have been seen before the levels count as known.

    Args:
        learned: what was learned so far.
        told: whether the user has said the thresholds.
        logic: whether the samples can only be 0 and 1.
    """
    if told or logic:
        return ENOUGH_LOGIC
    return ENOUGH_SAGGING if learned.sagging is not None else ENOUGH_FLAT
