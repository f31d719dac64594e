r"""What a channel's first look teaches: levels, a tone, or levels that sag.

What is learned of one channel before its edges are looked for: its levels, or how they sag.

A recording is learned from as a whole; a line that is being watched, from its first stretch. The rest is the same.

Slow edges: does the bias follow the threshold?

Picture: a line loaded by a cable or a filter capacitor, crossed at 30, 50 and 70 % of the swing

    high           ____------.
    70 %  - - - -x-           \
    50 %  - - -x               x
    30 %  - -x                   `x
    low   ___/                     `-----
            |--|              |---|
             rise              fall          highs are longer at 30 % by rise + fall than at 70 %

When they are, the bias that is read depends on where the receiver of the real line has its own threshold.

A few seconds of the liveliest part of a channel, thinned where it was sampled faster than needed.

Levels that sag: find how, put them back, find the edges in what was put back.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tapewright.recordings.capture import FloatArray, Samples, Suspicion
from tapewright.recordings.edges.analogue import (
    EdgeStream,
    Instants,
    Readable,
    join,
    liveliest_stretch,
    lively_blocks,
    lively_samples,
)
from tapewright.recordings.edges.blocks import Extremes, Thresholds
from tapewright.recordings.edges.coupling_fit import CouplingFound, find_coupling
from tapewright.recordings.edges.levels import TONE_SAMPLES, Levels, find_levels, no_keyed_tone, no_two_levels, tone_hz
from tapewright.recordings.edges.restored import RestoreStream
from tapewright.recordings.edges.tone import EnvelopeStream, Keyed, keyed

#: a change of the length of highs worth a word: half a per cent of a 22 ms unit (owner's choice)
WORTH_A_WORD_S = 0.0001
#: between two samples the straight line makes even a sudden edge look this slow
SAMPLES_TO_TELL = 3.0
FEWEST_EDGES = 6


def slow_edges(samples: Samples, low: float, high: float, noise: float, interval_s: float) -> Suspicion | None:
    """Compare the instants at 30 and 70 % of the swing in some seconds of lively samples, shape (n,)."""
    at = {part: _instants(samples, low, high, noise, part) for part in (0.3, 0.7)}
    rise, fall = _between(at[0.3], at[0.7], up=True), _between(at[0.7], at[0.3], up=False)
    if rise is None or fall is None:
        return None
    longer_s = (rise + fall) * interval_s
    if longer_s < max(WORTH_A_WORD_S, SAMPLES_TO_TELL * interval_s):
        return None
    return Suspicion(
        "slow edges",
        f"highs measure {longer_s * 1e3:.2f} ms longer with the threshold at 30 % of the swing than at 70 % "
        f"(rise {rise * interval_s * 1e3:.2f} ms, fall {fall * interval_s * 1e3:.2f} ms)",
        "The bias follows the threshold: take filter and long cable away, or set --threshold to the real receiver's.",
    )


def _instants(samples: Samples, low: float, high: float, noise: float, part: float) -> Instants:
    swing = high - low
    middle = low + part * swing
    half = min(0.2 * swing, max(0.1 * swing, 4 * noise))
    return EdgeStream(Thresholds(middle - half, middle, middle + half), swing=swing, noise=noise).feed(samples)


def _between(before: Instants, after: Instants, *, up: bool) -> float | None:
    """Return the median time, in samples, from an edge of `before` to the next of `after` in the same direction."""
    first, second = before.at[before.high == up], after.at[after.high == up]
    following = np.searchsorted(second, first)
    has = following < second.size
    apart = second[following[has]] - first[has]
    # the next edge of the same direction, unless that one is missing: then it is another one, far away
    if apart.size < FEWEST_EDGES:
        return None
    return float(np.median(apart))


#: seconds looked at, before them a bit of idle, and the rate that is kept
STRETCH_S, BEFORE_S, KEPT_HZ = 12.0, 0.3, 44_000.0
MOST_SAMPLES = 24_000_000
PIECE_STRETCH = 1 << 20


def lively_stretch(reader: Readable, channel: int, kept: Extremes, interval_s: float) -> tuple[Samples, int]:
    """Return the samples, shape (n,), and how many samples of the recording each is the mean of."""
    wanted = round(min(STRETCH_S / interval_s, MOST_SAMPLES)) if interval_s > 0 else MOST_SAMPLES
    begin = max(0, liveliest_stretch(kept, wanted) - round(wanted * BEFORE_S / STRETCH_S))
    end = min(reader.count, begin + wanted)
    step = max(1, int(min(1e6, 1 / (interval_s * KEPT_HZ)))) if interval_s > 0 else 1
    parts = []
    piece = max(step, PIECE_STRETCH // step * step)
    for first in range(begin, end, piece):
        samples = reader.read(first, min(piece, end - first))[channel]
        if step > 1:
            with np.errstate(over="ignore", invalid="ignore"):
                samples = samples[: samples.size // step * step].reshape(-1, step).mean(axis=1)
        parts.append(samples)
    return (np.concatenate(parts) if parts else np.empty(0)), step


PIECE = 1 << 20
#: fewer samples a second show no edge of a step
SLOWEST_HZ = 2000.0
#: the time after which the loss of a step is told: one unit at 50 baud
TOLD_AFTER_S = 0.020


@dataclass(frozen=True, slots=True, eq=False)
class Sagging:
    """How the levels sag, and what else was seen of it."""

    found: CouplingFound
    slow: Suspicion | None

    def suspicions(self) -> tuple[Suspicion, ...]:
        """Say it with its figures."""
        coupling = self.found.coupling
        lost = 100 * coupling.droop(TOLD_AFTER_S)
        evidence = (
            f"levels sag with a corner of {coupling.corner_hz:.2g} Hz ({'first' if coupling.order == 1 else 'second'} "
            f"order): a step has lost {lost:.0f} % after {TOLD_AFTER_S * 1e3:.0f} ms; edges were taken from the steps, "
            "the idle level cannot be seen"
        )
        do = "Record with DC coupling where you can: a steady mark then stays where it is."
        said = Suspicion("AC coupling", evidence, do)
        return (said,) if self.slow is None else (said, self.slow)


def sagging_levels(reader: Readable, channel: int, kept: Extremes, interval_s: float) -> Sagging | None:
    """Find how the levels sag; None when they do not."""
    if interval_s <= 0 or interval_s * SLOWEST_HZ > 1:
        return None
    samples, step = lively_stretch(reader, channel, kept, interval_s)
    rate_hz = 1 / (interval_s * step)
    found = find_coupling(samples, rate_hz)
    if found is None:
        return None
    scout = found.stream(rate_hz, None)
    scout.feed(samples)
    restored = found.stream(rate_hz, scout.starts_high).feed(samples)
    return Sagging(found, slow_edges(restored, 0.0, found.step, found.noise, interval_s * step))


def restore(
    reader: Readable, channel: int, sagging: Sagging, interval_s: float, progress: Callable[[float], None]
) -> tuple[Instants, bool | None]:
    """Return the edges of the restored levels, and the level before the first."""
    found, rate_hz = sagging.found, 1 / interval_s
    scout = found.stream(rate_hz, None)
    for first in range(0, reader.count, PIECE):
        scout.feed(reader.read(first, min(PIECE, reader.count - first))[channel])
        if scout.starts_high is not None:
            break
    restored = found.stream(rate_hz, scout.starts_high)
    edges = EdgeStream(restored_thresholds(found.step), swing=found.step, noise=found.noise)
    parts = []
    for first in range(0, reader.count, PIECE):
        samples = reader.read(first, min(PIECE, reader.count - first))[channel]
        parts.append(edges.feed(restored.feed(samples)))
        progress(min(1.0, (first + PIECE) / reader.count))
    return join(parts), scout.starts_high


def restored_thresholds(step: float) -> Thresholds:
    """Return where low ends and high begins when low is 0 and high is `step`."""
    return Thresholds(0.4 * step, 0.5 * step, 0.6 * step)


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
    some: Samples,
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
