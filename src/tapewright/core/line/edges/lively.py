"""Where a recording is lively: levels are learned there, not from hours of idle."""

from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from tapewright.core.line.edges.blocks import Extremes, Indices, Samples

#: spots looked at, samples taken at each, to learn the levels
SPOTS, SAMPLES_A_SPOT = 300, 800
#: seconds before and after an edge that belong to a spot
ABOUT_A_SPOT_S = 0.03


class Readable(Protocol):
    """Samples that can be read from any place on."""

    @property
    def count(self) -> int:
        """Samples of one channel."""

    def read(self, first: int, count: int) -> list[Samples]:
        """Give samples of each channel."""


def lively_blocks(kept: Extremes) -> Indices:
    """Give the numbers of the blocks that move at least half as far as those that move most (single spikes aside)."""
    with np.errstate(over="ignore", invalid="ignore"):
        moved = kept.highest.astype(np.float64) - kept.lowest.astype(np.float64)
    moved = np.where(np.isfinite(moved), moved, 0.0)
    if not moved.size:
        return np.empty(0, np.int64)
    spikes = min(5, moved.size // 20)
    # the few largest are among those above half the largest, unless that one is a spike
    top = moved[moved > moved.max() / 2]
    top = top if top.size > spikes else moved
    most = float(np.partition(top, -1 - spikes)[-1 - spikes])
    return np.flatnonzero(moved > most / 2) if most > 0 else np.empty(0, np.int64)


def lively_samples(reader: Readable, channel: int, kept: Extremes, interval_s: float) -> npt.NDArray[Any]:
    """Give samples from around some lively blocks, spread over the whole recording."""
    blocks = lively_blocks(kept)
    chosen = blocks[np.unique(np.linspace(0, blocks.size - 1, min(SPOTS, blocks.size)).astype(int))]
    about = max(kept.block, min(round(ABOUT_A_SPOT_S / interval_s), 1 << 17)) if interval_s > 0 else kept.block
    parts = []
    done = 0
    for block in chosen.tolist():
        begin = max(done, block * kept.block - about)
        done = min(reader.count, (block + 1) * kept.block + about)
        if done > begin:
            spot = reader.read(begin, done - begin)[channel]
            parts.append(spot[:: spot.size // SAMPLES_A_SPOT | 1])
    return np.concatenate(parts) if parts else np.empty(0)


def liveliest_stretch(kept: Extremes, samples: int) -> int:
    """Give the first sample of the stretch of `samples` samples that holds the most lively blocks."""
    blocks = lively_blocks(kept)
    if not blocks.size:
        return 0
    held = np.searchsorted(blocks, blocks + max(1, samples // kept.block)) - np.arange(blocks.size)
    return int(blocks[np.argmax(held)]) * kept.block
