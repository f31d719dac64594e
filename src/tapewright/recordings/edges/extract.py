"""All channels of one recording, in two passes: what the levels are, then where the edges are.

The first pass keeps only the extremes of each block and a thin sample of the levels; the second looks again at the
blocks that can hold an edge, and reads no others. Where the levels sag (AC coupling), all is read again, restored.
"""

from collections import deque
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from tapewright.recordings.capture import FloatArray, RawEdges, Samples, Suspicion
from tapewright.recordings.edges.analogue import LOOK_BACK, EdgeStream, Instants, join
from tapewright.recordings.edges.blocks import BLOCK, Extremes, Thresholds, blocks_to_look_at, extremes
from tapewright.recordings.edges.change_list import make_edges
from tapewright.recordings.edges.clock import Clock
from tapewright.recordings.edges.learned import learn_levels, lively_stretch, restore, slow_edges
from tapewright.recordings.edges.levels import mains_hum, may_hum, too_few_samples
from tapewright.recordings.edges.tone import EnvelopeReader, Keyed

#: samples from which on blocks are long ones: measured, 4096 cost two thirds of 512, and hold few edges by then
LONG_FROM, LONG_BLOCK = 1 << 24, 4096
#: blocks kept of one channel, at the most; the longest recordings get longer blocks still
MOST_BLOCKS = 1 << 21
#: samples looked at to find the levels
LEVEL_SAMPLES = 100_000
#: samples, over all channels, read at once
PIECE = 1 << 22
#: pieces looked at side by side
AT_ONCE = 2
#: values of an envelope looked at at once
ENVELOPE_PIECE = 1 << 16
#: samples of one channel looked at again at once
LOOKED_AT_AGAIN = 1 << 23

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
        """Return `count` samples from number `first` on: for each channel an array of shape (count,)."""


@dataclass(frozen=True, slots=True, eq=False)
class Extracted:
    """Edges of one channel, and the thresholds they were found with (None for restored or no levels)."""

    edges: RawEdges
    thresholds: Thresholds | None


@dataclass(frozen=True, slots=True, eq=False)
class _Found:
    instants: Instants
    starts_high: bool | None
    thresholds: Thresholds | None
    suspicions: tuple[Suspicion, ...]
    levels_known: bool = True


def extract(
    reader: SampleReader,
    clock: Clock,
    *,
    thresholds: Thresholds | None = None,
    suspicions: tuple[Suspicion, ...] = (),
    missing: FloatArray | None = None,
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
    surveys = survey(reader, _part_of(tell, 0.0, 0.7))
    begin_s, end_s = clock.seconds(np.array([0.0, max(0.0, reader.count - 1.0)])).tolist()
    interval_s = (end_s - begin_s) / max(1, reader.count - 1)
    found = []
    for channel, (kept, some) in enumerate(surveys):
        part = _part_of(tell, 0.7 + 0.3 * channel / len(surveys), 0.3 / len(surveys))
        one = _one_channel(reader, channel, kept, some, interval_s, thresholds, part)
        unknown = clock.seconds(one.instants.unknown.reshape(-1)).reshape(-1, 2)
        edges = make_edges(
            clock.seconds(one.instants.at),
            one.instants.high,
            one.instants.u * clock.intervals_s(one.instants.at),
            starts_high=one.starts_high,
            begin_s=begin_s,
            end_s=end_s,
            missing=unknown if missing is None else np.concatenate([unknown, missing]),
            suspicions=(*suspicions, *one.suspicions),
            levels_known=one.levels_known,
        )
        found.append(Extracted(edges, one.thresholds))
    tell(1.0)
    return found


def _one_channel(
    reader: SampleReader,
    channel: int,
    kept: Extremes,
    some: Samples,
    interval_s: float,
    wanted: Thresholds | None,
    progress: Progress,
) -> _Found:
    """Find the edges of one channel by its levels, or restored where the levels sag."""
    learned = learn_levels(reader, channel, kept, some, interval_s, wanted)
    if learned.sagging is not None:
        instants, starts_high = restore(reader, channel, learned.sagging, interval_s, progress)
        said = (*learned.sagging.suspicions(), *too_few_samples(interval_s, instants.at.size))
        return _Found(instants, starts_high, None, said, levels_known=False)
    if learned.keyed is not None:
        return _of_a_tone(reader, channel, learned.keyed, progress)
    use, levels = learned.thresholds, learned.levels
    if use is None or levels is None:
        return _Found(Instants.none(), learned.always_high, None, learned.said)
    stream = learned.edge_stream()
    instants = resolve(reader, channel, kept, stream, progress)
    said = too_few_samples(interval_s, instants.at.size)
    if levels.two and instants.at.size and (levels.near < 1.0 or may_hum(levels)):
        stretch, step = lively_stretch(reader, channel, kept, interval_s)
        slow = slow_edges(stretch, levels.low, levels.high, levels.noise, interval_s * step)
        hum = mains_hum(stretch, levels, interval_s * step) if may_hum(levels) else None
        said = (*said, *(one for one in (slow, hum) if one is not None))
    return _Found(instants, stream.starts_high, use, said)


def _of_a_tone(reader: SampleReader, channel: int, found: Keyed, progress: Progress) -> _Found:
    """Find the edges of a keyed tone in its envelope."""
    envelope = EnvelopeReader(reader, channel, found.tone)
    edges, parts = found.edge_stream(), []
    for first in range(0, envelope.count, ENVELOPE_PIECE):
        parts.append(edges.feed(envelope.read(first, min(ENVELOPE_PIECE, envelope.count - first))[0]))
        progress(min(1.0, (first + ENVELOPE_PIECE) / envelope.count))
    instants = join(parts)
    at, u = found.in_samples(instants.at, instants.u)
    unknown = instants.unknown * found.tone.block
    return _Found(Instants(at, u, instants.high, unknown), edges.starts_high, None, (found.suspicion(),))


def _part_of(tell: Progress, begin: float, share: float) -> Progress:
    """Return a progress that covers a part of the whole."""
    return lambda fraction: tell(begin + share * fraction)


def block_for(count: int) -> int:
    """Return the block length for `count` samples: 512, in long recordings 4096 and more."""
    block = BLOCK if count < LONG_FROM else LONG_BLOCK
    while count > MOST_BLOCKS * block:
        block *= 2
    return block


def survey(reader: SampleReader, progress: Progress) -> list[tuple[Extremes, Samples]]:
    """Read all samples once; give for each channel the extremes of its blocks and some samples of its levels."""
    block = block_for(reader.count)
    piece = max(block, PIECE // max(1, reader.channels) // block * block)
    # odd, so that a line that changes with every sample shows both its levels
    stride = reader.count // LEVEL_SAMPLES | 1
    lowest: list[list[Samples]] = [[np.empty(0)] for _ in range(reader.channels)]
    highest: list[list[Samples]] = [[np.empty(0)] for _ in range(reader.channels)]
    some: list[list[Samples]] = [[np.empty(0)] for _ in range(reader.channels)]

    def take(first: int, looked_at: list[Future[tuple[Extremes, Samples]]]) -> None:
        for channel, one in enumerate(looked_at):
            found, thin = one.result()
            lowest[channel].append(found.lowest)
            highest[channel].append(found.highest)
            some[channel].append(thin)
        progress(min(1.0, (first + piece) / reader.count))

    # numpy lets go of the interpreter while it works, so two pieces are looked at side by side
    with ThreadPoolExecutor(AT_ONCE) as workers:
        waiting: deque[tuple[int, list[Future[tuple[Extremes, Samples]]]]] = deque()
        for first in range(0, reader.count, piece):
            read = reader.read(first, min(piece, reader.count - first))
            waiting.append((first, [workers.submit(_look, part, block, -first % stride, stride) for part in read]))
            if len(waiting) > AT_ONCE:
                take(*waiting.popleft())
        while waiting:
            take(*waiting.popleft())
    return [
        (Extremes(_joined(lowest[channel]), _joined(highest[channel]), block), _joined(some[channel]))
        for channel in range(reader.channels)
    ]


def _look(samples: Samples, block: int, begin: int, stride: int) -> tuple[Extremes, Samples]:
    """Return the extremes of the blocks of a piece, and a thin sample of it."""
    return extremes(samples, block), samples[begin::stride].copy()


def _joined(parts: list[Samples]) -> Samples:
    """Put parts together; the first, empty one is there so that nothing becomes something."""
    return np.concatenate(parts[1:]) if len(parts) > 1 else parts[0]


def resolve(reader: SampleReader, channel: int, kept: Extremes, stream: EdgeStream, progress: Progress) -> Instants:
    """Look again at the pieces that hold a block which may hold an edge; pass over the others unread."""
    block = kept.block
    piece = max(1, LOOKED_AT_AGAIN // block)
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
