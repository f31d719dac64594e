"""What is learned of one channel before its edges are looked for: its levels, or how they sag.

A recording is learned from as a whole; a line that is being watched, from its first stretch. The rest is the same.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from tapewright.recordings.capture import FloatArray, Suspicion
from tapewright.recordings.edges.analogue import EdgeStream, Readable, liveliest_stretch, lively_blocks, lively_samples
from tapewright.recordings.edges.blocks import Extremes, Thresholds
from tapewright.recordings.edges.levels import Levels, find_levels
from tapewright.recordings.edges.not_levels import TONE_SAMPLES, no_keyed_tone, no_two_levels, tone_hz
from tapewright.recordings.edges.restored import RestoreStream
from tapewright.recordings.edges.slow import Sagging, restored_thresholds, sagging_levels
from tapewright.recordings.edges.tone import EnvelopeStream, Keyed, keyed

#: seconds of a tone from which the levels of its envelope are learned
TONE_LEVELS_S = 6.0
#: levels are flat when this share of the samples lies near one of them
FLAT_SHARE = 0.97


@dataclass(frozen=True, slots=True, eq=False)
class Learned:
    """The levels of one channel.

    Attributes:
        levels: its two levels; None when there is nothing to learn from.
        thresholds: where low ends and high begins; None when it never changes, or when the levels sag.
        sagging: how the levels sag; None when they stay.
        keyed: a tone that is keyed on and off, and the levels of its envelope; None when there is no tone.
        always_high: level of a channel that never changes; None when that cannot be told.
        said: what it holds in place of two levels.
    """

    levels: Levels | None
    thresholds: Thresholds | None = None
    sagging: Sagging | None = None
    keyed: Keyed | None = None
    always_high: bool | None = None
    said: tuple[Suspicion, ...] = ()

    def edge_stream(self) -> EdgeStream:
        """Return what finds the edges, of samples whose levels stay, or of restored ones.

        Raises:
            ValueError: when no edges can be looked for.
        """
        if self.keyed is not None:
            return self.keyed.edge_stream()
        if self.sagging is not None:
            found = self.sagging.found
            return EdgeStream(restored_thresholds(found.step), swing=found.step, noise=found.noise)
        if self.thresholds is None or self.levels is None:
            raise ValueError("a channel without two levels has no edges")
        use = self.thresholds
        return EdgeStream(use, swing=self.levels.swing or use.high - use.low, noise=self.levels.noise)

    def restore_stream(self, rate_hz: float, starts_high: bool | None) -> RestoreStream | None:
        """Return what puts sagging levels back; None when they stay."""
        return None if self.sagging is None else self.sagging.found.stream(rate_hz, starts_high)

    def envelope_stream(self) -> EnvelopeStream | None:
        """Return what takes a keyed tone's envelope; None when there is no tone."""
        return None if self.keyed is None else EnvelopeStream(self.keyed.tone)

    def in_samples(self, at: FloatArray, u: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the places of edges, and their uncertainties, in samples of the recording."""
        return (at, u) if self.keyed is None else self.keyed.in_samples(at, u)


def learn_levels(
    reader: Readable,
    channel: int,
    kept: Extremes,
    some: npt.NDArray[Any],
    interval_s: float,
    wanted: Thresholds | None = None,
) -> Learned:
    """Learn the levels of one channel.

    Args:
        reader: the samples.
        channel: which channel of them.
        kept: the extremes of its blocks.
        some: shape (n,), some of its samples, evenly spaced.
        interval_s: time from sample to sample.
        wanted: thresholds to use whatever the levels are.
    """
    overall = find_levels(some)
    if overall is None or not kept.lowest.size:
        return Learned(None)
    there = find_levels(lively_samples(reader, channel, kept, interval_s)) or overall
    levels = there if there.two else overall
    if wanted is None and min(there.near, overall.near) < FLAT_SHARE and lively_blocks(kept).size:
        tone = _tone(reader, channel, kept, interval_s)
        if tone is not None:
            return tone
        sagging = sagging_levels(reader, channel, kept, interval_s)
        if sagging is not None:
            return Learned(levels, sagging=sagging)
    use = wanted or (levels.thresholds() if levels.two else None)
    if use:
        return Learned(levels, use)
    said = no_two_levels(levels)
    return Learned(levels, said=(said,)) if said else Learned(levels, always_high=_always_high(overall))


def _tone(reader: Readable, channel: int, kept: Extremes, interval_s: float) -> Learned | None:
    """Learn from a stretch in which something happens that it is a tone; None when it is none."""
    if interval_s <= 0:
        return None
    begin, rate_hz = liveliest_stretch(kept, TONE_SAMPLES), 1 / interval_s
    hz = tone_hz(reader.read(begin, min(TONE_SAMPLES, reader.count - begin))[channel], rate_hz)
    if hz is None:
        return None
    count = min(reader.count, max(TONE_SAMPLES, round(TONE_LEVELS_S * rate_hz)))
    begin = min(liveliest_stretch(kept, count), reader.count - count)
    found = keyed(reader, channel, hz, rate_hz, begin, count)
    return Learned(None, said=(no_keyed_tone(hz),)) if found is None else Learned(found.levels, keyed=found)


def _always_high(levels: Levels) -> bool | None:
    """Say what a channel without edges is: a logic level that is above zero is high; a voltage tells nothing."""
    return bool(np.greater(levels.low, 0)) if levels.noise == 0 else None
