r"""Edges of a sampled voltage or sound level, between the samples.

Picture (o = sample, x = the instant, where the straight line between two samples crosses the middle):

    high threshold - - - - - - -o- - - -o
                               /
    middle         - - - - - -x- - - - -      instant = j + (middle - v[j]) / (v[j+1] - v[j])
                             /
    low threshold  o- - - -o- - - - - - -
                           j   j+1

The signal must reach the other threshold to count as changed (hysteresis), but the instant is taken at the middle.
When noise makes a slow edge cross the middle several times, the instant lies halfway between first and last crossing.

Uncertainty of the instant, in samples (propagation of uncertainty, JCGM 100:2008, 5.1.2):

    u^2 = noise^2 ((1-f)^2 + f^2) / jump^2  +  (jump / swing)^4 / 12  +  (last - first)^2 / 12

f is the fraction of the sample interval, jump the step between the two samples. The second term says what lies
between the samples: when one step is the whole swing nothing is known about where in it the edge was, u = 1/sqrt 12;
when several samples lie on the slope the straight line is good, and its curvature counts with the square.

Where a recording is lively: levels are learned there, not from hours of idle.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from tapewright.recordings.capture import Samples
from tapewright.recordings.edges.blocks import BATCH, BLOCK, Extremes, Indices, Thresholds, entries, extremes
from tapewright.recordings.edges.levels import Levels

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

#: an edge slower than this many samples is put where it has come to by then
LOOK_BACK = 65_536
_FIRST_LOOK = 16


@dataclass(frozen=True, slots=True, eq=False)
class Instants:
    """Edges of one channel, counted in samples from the first sample ever.

    Attributes:
        at: shape (n,), where the edge is; whole numbers are samples.
        u: shape (n,), standard uncertainty, in samples.
        high: shape (n,), level after the edge.
        unknown: shape (k, 2), stretches without a level (NaN), from the last good sample to the next.
    """

    at: FloatArray
    u: FloatArray
    high: BoolArray
    unknown: FloatArray

    @staticmethod
    def none() -> "Instants":
        """No edge."""
        return Instants(np.empty(0), np.empty(0), np.empty(0, bool), np.empty((0, 2)))


def join(parts: list[Instants]) -> Instants:
    """Put the edges of successive pieces together."""
    if not parts:
        return Instants.none()
    return Instants(
        np.concatenate([part.at for part in parts]),
        np.concatenate([part.u for part in parts]),
        np.concatenate([part.high for part in parts]),
        np.concatenate([part.unknown for part in parts]),
    )


class EdgeStream:
    """Feed samples in pieces of any size; get the edges. Owns no file and no clock.

    Args:
        thresholds: where low ends, the middle, where high begins.
        swing: high level minus low level.
        noise: standard deviation of a sample.
    """

    def __init__(self, thresholds: Thresholds, *, swing: float, noise: float) -> None:
        self.thresholds, self.swing, self.noise = thresholds, swing, noise
        self.starts_high: bool | None = None
        self.fed = 0
        self._level: bool | None = None
        self._before: list[Samples] = []

    @classmethod
    def for_levels(cls, levels: Levels) -> "EdgeStream":
        """Make a stream for levels that were found from the data."""
        return cls(levels.thresholds(), swing=levels.swing, noise=levels.noise)

    def feed(self, samples: Samples, found: Extremes | None = None) -> Instants:
        """Return the edges that `samples`, shape (n,), complete; `found` saves work when the extremes are known."""
        if samples.dtype == np.bool_:
            samples = samples.view(np.uint8)
        block = BLOCK if found is None else found.block
        step = max(block, BATCH // block * block)
        parts = []
        for first in range(0, samples.size, step):
            piece = samples[first : first + step]
            known = extremes(piece, block) if found is None else found.part(first // block, step // block)
            parts.append(self._feed_batch(piece, known))
        # a copy: the caller may use the same memory again for the next piece
        self._before = [np.concatenate(self._before)[-LOOK_BACK:]] if self._before else []
        return join(parts)

    def _feed_batch(self, samples: Samples, found: Extremes) -> Instants:
        entered = entries(samples, found, self.thresholds, self._level)
        if self.starts_high is None:
            self.starts_high = entered.first_level
        self._level = entered.last_level
        unknown = _stretches_without_level(samples, found)
        at, u = self._refine(samples, entered.at, entered.high)
        start = self.fed
        self._keep(samples)
        return Instants(at + start, u, entered.high, unknown + start)

    def skip(self, count: int, last_samples: Samples) -> None:
        """Pass over `count` samples known to hold no edge and no first touch, of which these are the last."""
        self.fed += count - last_samples.size
        self._before = []
        self._keep(last_samples)

    @property
    def level(self) -> bool | None:
        """Level after the last sample fed."""
        return self._level

    def _keep(self, samples: Samples) -> None:
        """Keep the last LOOK_BACK samples in view, as pieces."""
        self.fed += samples.size
        kept = [*self._before, samples[-LOOK_BACK:]]
        while len(kept) > 1 and sum(piece.size for piece in kept[1:]) >= LOOK_BACK:
            kept = kept[1:]
        self._before = kept

    def _refine(self, samples: Samples, at: Indices, high: BoolArray) -> tuple[FloatArray, FloatArray]:
        """Return the instant of each entry and its u; look back further and further until the slope's foot is found."""
        with np.errstate(over="ignore", invalid="ignore"):
            return self._refine_all(samples, at, high)

    def _refine_all(self, samples: Samples, at: Indices, high: BoolArray) -> tuple[FloatArray, FloatArray]:
        instant, u, todo = self._steps(samples, at, high)
        look = _FIRST_LOOK
        past: Samples | None = None
        while todo.size:
            at_most = max(1, 8_000_000 // (look + 1))
            if past is None and (at[todo] < look).any():
                past = np.concatenate(self._before)[-LOOK_BACK:] if self._before else samples[:0]
            left = []
            for first in range(0, todo.size, at_most):
                part = todo[first : first + at_most]
                windows = _windows(samples, past, at[part], look)
                done, where, doubt = self._cross(windows, high[part], last_look=look >= LOOK_BACK)
                instant[part] = at[part] - look + where
                u[part] = doubt
                left.append(part[~done])
            todo, look = np.concatenate(left), min(look * 8, LOOK_BACK)
        return instant, u

    def _steps(self, samples: Samples, at: Indices, high: BoolArray) -> tuple[FloatArray, FloatArray, Indices]:
        """Return the instants of edges from one level to the other in one step, and which edges are no such."""
        v = samples[at].astype(np.float64)
        before = samples[np.maximum(at - 1, 0)].astype(np.float64)
        edge = self.thresholds
        stepped = (at > 0) & np.where(high, (before <= edge.low) & (v >= edge.middle), before >= edge.high)
        stepped &= high | (v <= edge.middle)
        sign = np.where(high, 1.0, -1.0)
        f, u = self._between(before * sign, v * sign, edge.middle * sign)
        return at - 1 + f, u, np.flatnonzero(~stepped)

    def _cross(self, v: FloatArray, high: BoolArray, *, last_look: bool) -> tuple[BoolArray, FloatArray, FloatArray]:
        """Find the crossing of the middle in windows, shape (k, look + 1), which end with the sample of entry."""
        sign = np.where(high, 1.0, -1.0)[:, None]
        edge = self.thresholds
        v = v * sign
        foot_level = np.where(high, edge.low, -edge.high)[:, None]
        middle = edge.middle * sign
        columns = np.arange(v.shape[1])
        at_foot = v <= foot_level
        foot = np.where(at_foot, columns, -1).max(axis=1)
        done = (foot >= 0) | last_look
        foot = np.maximum(foot, 0)[:, None]
        above = v >= middle
        first = np.argmax(above & (columns > foot), axis=1)
        last = v.shape[1] - 1 - np.argmax((~above)[:, ::-1], axis=1)
        last = np.clip(last, first - 1, v.shape[1] - 2)
        row = np.arange(v.shape[0])
        where_first, u_first = self._between(v[row, first - 1], v[row, first], middle[:, 0])
        where_last, _ = self._between(v[row, last], v[row, last + 1], middle[:, 0])
        begin, end = first - 1 + where_first, last + where_last
        return done, (begin + end) / 2, np.sqrt(u_first**2 + (end - begin) ** 2 / 12)

    def _between(self, before: FloatArray, after: FloatArray, middle: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Interpolate between two samples; next to a NaN the edge is put at the sample that is known."""
        jump = after - before
        blind = ~(np.isfinite(jump) & (jump > 0))
        safe = np.where(blind, 1.0, jump)
        f = np.where(blind, 1.0, (middle - np.where(blind, 0.0, before)) / safe)
        f = np.clip(f, 0.0, 1.0)
        steep = safe / max(self.swing, 1e-300)
        steep, noise = np.minimum(1.0, steep), np.minimum(1.0, self.noise / safe)
        u = np.sqrt(noise**2 * ((1 - f) ** 2 + f**2) + steep**4 / 12)
        return f, np.where(blind, 12**-0.5, u)


def _windows(samples: Samples, past: Samples | None, at: Indices, look: int) -> FloatArray:
    """Cut `look` samples before each index and the one at it; before the first sample ever, repeat the oldest."""
    back = at[:, None] + np.arange(-look, 1)
    windows: FloatArray = samples[np.maximum(back, 0)].astype(np.float64)
    if past is not None and past.size and (at < look).any():
        old = past[np.clip(back + past.size, 0, past.size - 1)].astype(np.float64)
        windows = np.where(back >= 0, windows, old)
    return windows


def _stretches_without_level(samples: Samples, found: Extremes) -> FloatArray:
    """Return begin and end, in samples, of the stretches of NaN: from the last number to the next."""
    if samples.dtype.kind != "f" or not np.isnan(found.lowest).any():
        return np.empty((0, 2))
    blind = np.concatenate([[False], np.isnan(samples), [False]])
    change = np.flatnonzero(blind[1:] != blind[:-1]).reshape(-1, 2)
    stretches: FloatArray = change.astype(np.float64) + np.array([-1.0, 0.0])
    return stretches


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
        """Return samples of each channel."""


def lively_blocks(kept: Extremes) -> Indices:
    """Return the numbers of the blocks that move at least half as far as those that move most (single spikes aside)."""
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


def lively_samples(reader: Readable, channel: int, kept: Extremes, interval_s: float) -> Samples:
    """Return samples from around some lively blocks, spread over the whole recording."""
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
    """Return the first sample of the stretch of `samples` samples that holds the most lively blocks."""
    blocks = lively_blocks(kept)
    if not blocks.size:
        return 0
    held = np.searchsorted(blocks, blocks + max(1, samples // kept.block)) - np.arange(blocks.size)
    return int(blocks[np.argmax(held)]) * kept.block
