"""All channels of one recording, in two passes: what the levels are, then where the edges are.

The first pass keeps only the extremes of each block and a thin sample of the levels; the second looks again at the
blocks that can hold an edge, and reads no others.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from tapewright.core.line.capture import RawEdges, Suspicion
from tapewright.core.line.edges.analogue import LOOK_BACK, EdgeStream, Instants, join
from tapewright.core.line.edges.blocks import BLOCK, Extremes, Samples, Thresholds, blocks_to_look_at, extremes
from tapewright.core.line.edges.clock import Clock
from tapewright.core.line.edges.levels import find_levels
from tapewright.core.line.edges.lists import make_edges

#: blocks kept of one channel, at the most; longer recordings get longer blocks
MOST_BLOCKS = 1 << 21
#: samples looked at to find the levels
LEVEL_SAMPLES = 200_000
#: samples, over all channels, read at once
PIECE = 1 << 20

Progress = Callable[[float], None]


class SampleReader(Protocol):
    """Samples that can be read again, from any place on."""

    @property
    def count(self) -> int:
        """Samples of one channel."""

    @property
    def channels(self) -> int:
        """Channels."""

    def read(self, first: int, count: int) -> list[Samples]:
        """Give `count` samples from number `first` on: for each channel an array of shape (count,)."""


@dataclass(frozen=True, slots=True, eq=False)
class Extracted:
    """Edges of one channel, and the thresholds they were found with (None when there is no signal)."""

    edges: RawEdges
    thresholds: Thresholds | None


def extract(
    reader: SampleReader,
    clock: Clock,
    *,
    thresholds: Thresholds | None = None,
    suspicions: tuple[Suspicion, ...] = (),
    missing: npt.NDArray[np.float64] | None = None,
    progress: Progress | None = None,
) -> list[Extracted]:
    """Find every edge of every channel.

    Args:
        reader: the samples.
        clock: when each was taken.
        thresholds: to use instead of those found from the data.
        suspicions: what is known about the instrument already.
        missing: shape (k, 2), stretches known to be missing, in seconds.
        progress: called with the fraction done.
    """
    tell = progress or (lambda fraction: None)
    surveys = survey(reader, lambda fraction: tell(fraction * 0.7))
    found = []
    for channel, (kept, some) in enumerate(surveys):
        levels = find_levels(some)
        done = (0.7 + 0.3 * channel / len(surveys), 0.3 / len(surveys))
        use = thresholds or (levels.thresholds() if levels is not None and levels.two else None)
        instants, starts_high = Instants.none(), None
        if use is not None and levels is not None:
            stream = EdgeStream(use, swing=levels.swing or use.high - use.low, noise=levels.noise)
            instants = resolve(reader, channel, kept, stream, _part_of(tell, *done))
            starts_high = stream.starts_high
        lost = [clock.seconds(instants.unknown.reshape(-1)).reshape(-1, 2)]
        if missing is not None:
            lost.append(missing)
        edges = make_edges(
            clock.seconds(instants.at),
            instants.high,
            instants.u * clock.intervals_s(instants.at),
            starts_high=starts_high,
            begin_s=float(clock.seconds(np.array([0.0]))[0]),
            end_s=float(clock.seconds(np.array([max(0.0, reader.count - 1.0)]))[0]),
            missing=np.concatenate(lost),
            suspicions=suspicions,
        )
        found.append(Extracted(edges, use))
    tell(1.0)
    return found


def _part_of(tell: Progress, begin: float, share: float) -> Progress:
    """Give a progress that covers a part of the whole."""
    return lambda fraction: tell(begin + share * fraction)


def block_for(count: int) -> int:
    """Give the block length for `count` samples: 512, more when there would be too many blocks to keep."""
    block = BLOCK
    while count > MOST_BLOCKS * block:
        block *= 2
    return block


def survey(reader: SampleReader, progress: Progress) -> list[tuple[Extremes, npt.NDArray[Any]]]:
    """Read all samples once; give for each channel the extremes of its blocks and some samples of its levels."""
    block = block_for(reader.count)
    piece = max(block, PIECE // max(1, reader.channels) // block * block)
    stride = max(1, reader.count // LEVEL_SAMPLES)
    kept: list[list[Extremes]] = [[] for _ in range(reader.channels)]
    some: list[list[Samples]] = [[] for _ in range(reader.channels)]
    for first in range(0, reader.count, piece):
        columns = reader.read(first, min(piece, reader.count - first))
        for channel, samples in enumerate(columns):
            kept[channel].append(extremes(samples, block))
            some[channel].append(samples[-first % stride :: stride].copy())
        progress(min(1.0, (first + piece) / reader.count))
    return [
        (
            Extremes(
                np.concatenate([each.lowest for each in kept[channel]]) if kept[channel] else np.empty(0),
                np.concatenate([each.highest for each in kept[channel]]) if kept[channel] else np.empty(0),
                block,
            ),
            np.concatenate(some[channel]) if some[channel] else np.empty(0),
        )
        for channel in range(reader.channels)
    ]


def resolve(reader: SampleReader, channel: int, kept: Extremes, stream: EdgeStream, progress: Progress) -> Instants:
    """Look again at the pieces that hold a block which may hold an edge; pass over the others unread."""
    block = kept.block
    piece = max(1, PIECE // block)
    parts, skipped_to = [], 0
    for first in range(0, kept.lowest.size, piece):
        found = kept.part(first, piece)
        begin, end = first * block, min(reader.count, (first + found.lowest.size) * block)
        if blocks_to_look_at(found, stream.thresholds, stream.level).size:
            if skipped_to == begin and begin > 0:
                back = min(LOOK_BACK, begin)
                stream.skip(begin - stream.fed, reader.read(begin - back, back)[channel])
            parts.append(stream.feed(reader.read(begin, end - begin)[channel], found))
        else:
            skipped_to = end
        progress(end / reader.count)
    return join(parts)
