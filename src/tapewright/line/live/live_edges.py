r"""Edges of samples as they come in, in pieces of any size.

Picture (| = a hop of 5 ms; everything is decided at hops, so how the pieces were cut cannot matter):

    pieces    [------------][--][-----------------][---]
    hops      |    |    |    |    |    |    |    |    |
              learning the levels: kept  |  known: fed straight through the edge finder of recordings
                                         ^ what was kept is fed first, so nothing is lost
"""

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from tapewright.line.live.learning import MOVES, enough_edges, learn
from tapewright.recordings.capture import BoolArray, FloatArray
from tapewright.recordings.edges.analogue import EdgeStream
from tapewright.recordings.edges.blocks import Thresholds
from tapewright.recordings.edges.learned import Learned
from tapewright.recordings.edges.restored import RestoreStream
from tapewright.recordings.edges.tone import EnvelopeStream

Samples = npt.NDArray[Any]

HOP_S = 0.005
#: kept while the levels are not known; the oldest are let go
LONGEST_LEARNING_S = 30.0
#: between two tries to learn them, while the line moves and while it does not
TRY_EVERY_S, TRY_IDLE_S = 0.25, 5.0


@dataclass(frozen=True, slots=True, eq=False)
class FoundEdges:
    """Edges up to a time.

    Attributes:
        times_s: shape (n,), since the first sample ever fed.
        level_after: shape (n,), True for high.
        u_s: shape (n,), standard uncertainty.
        until_s: all edges up to here are known.
        starts_high: level before the first edge of this stretch; None while it is not known.
    """

    times_s: FloatArray
    level_after: BoolArray
    u_s: FloatArray
    until_s: float
    starts_high: bool | None = None


class LiveEdges:
    """Feed samples; take the edges hop by hop. Owns no port and no clock.

    Args:
        rate_hz: samples a second.
        wanted: thresholds the user has said; None to learn them.
    """

    def __init__(self, rate_hz: float, wanted: Thresholds | None = None) -> None:
        self.rate_hz, self.interval_s = rate_hz, 1 / rate_hz
        self.hop = max(1, round(rate_hz * HOP_S))
        self.learned: Learned | None = None
        self.fed = 0
        self._wanted = wanted
        self._rest: list[Samples] = []
        self._resting = 0
        self._held: deque[Samples] = deque()
        self._swings: deque[float] = deque()
        self._held_from, self._tried_at, self._moved_then = 0, 0, 0
        self._edges: EdgeStream | None = None
        self._restore: RestoreStream | EnvelopeStream | None = None
        self._stretch_from = 0
        self._behind_s = 0.0

    @property
    def until_s(self) -> float:
        """Time up to which all edges are known."""
        return max(0.0, self.fed * self.interval_s - self._behind_s)

    def hops(self, samples: Samples) -> Iterator[FoundEdges]:
        """Take samples, shape (n,); give what each hop that they complete holds."""
        self._rest.append(samples)
        self._resting += samples.size
        if self._resting < self.hop:
            return
        waiting = np.concatenate(self._rest) if len(self._rest) > 1 else samples
        whole = waiting.size // self.hop * self.hop
        for first in range(0, whole, self.hop):
            # a copy: the caller may use the same memory again
            yield self._one_hop(waiting[first : first + self.hop].copy())
        self._rest = [waiting[whole:].copy()]
        self._resting = waiting.size - whole

    def finish(self) -> FoundEdges:
        """Return what the last, incomplete hop holds; when nothing was learned yet, learn from what there is."""
        rest = np.concatenate(self._rest) if self._rest else np.empty(0)
        self._rest, self._resting = [], 0
        if self._edges is None and (self._held or rest.size):
            self._keep(rest)
            found = self._try_to_learn(at_least=1)
            return found or self._nothing()
        return self._through(rest) if rest.size else self._nothing()

    def gap(self, samples: int) -> None:
        """Say that so many samples are missing here; the levels stay known, the level itself is not."""
        self._rest, self._resting = [], 0
        self._held.clear()
        self._swings.clear()
        self.fed += samples
        self._held_from = self._stretch_from = self.fed
        if self.learned is not None:
            self._start(self.learned, None)

    def _one_hop(self, samples: Samples) -> FoundEdges:
        if self._edges is not None:
            return self._through(samples)
        self._keep(samples)
        return (self._try_to_learn() if self._time_to_try() else None) or self._nothing()

    def _nothing(self) -> FoundEdges:
        starts = None if self._edges is None else self._edges.starts_high
        return FoundEdges(np.empty(0), np.empty(0, bool), np.empty(0), self.until_s, starts)

    def _keep(self, samples: Samples) -> None:
        """Keep a hop until the levels are known; let the oldest go when there are too many."""
        self._held.append(samples)
        values = samples[np.isfinite(samples)] if samples.dtype.kind == "f" else samples
        self._swings.append(float(values.max()) - float(values.min()) if values.size else 0.0)
        self.fed += samples.size
        while len(self._held) * HOP_S > LONGEST_LEARNING_S:
            self._held_from += self._held.popleft().size
            self._swings.popleft()

    def _time_to_try(self) -> bool:
        """Return whether more has happened since the last try, or enough time has passed."""
        since_s = (self.fed - self._tried_at) * self.interval_s
        if since_s < TRY_EVERY_S - HOP_S / 2:
            return False
        swings = np.array(self._swings)
        moving = int(np.count_nonzero(swings > MOVES * swings.max()))
        noise_only = moving > 0.7 * swings.size or not swings.max() > 0
        if since_s < TRY_IDLE_S and (noise_only or moving <= self._moved_then):
            return False
        self._tried_at, self._moved_then = self.fed, moving
        return bool(swings.max() > 0)

    def _try_to_learn(self, at_least: int | None = None) -> FoundEdges | None:
        """Learn from what was kept; None when too few edges show."""
        kept = np.concatenate(list(self._held))
        learned = learn(kept, self.interval_s, self._wanted)
        if learned.thresholds is None and learned.sagging is None and learned.keyed is None:
            return None
        starts_high: bool | None = None
        scout = learned.restore_stream(self.rate_hz, None)
        if scout is not None:
            scout.feed(kept)
            starts_high = scout.starts_high
        logic = kept.dtype == np.bool_
        enough = at_least or enough_edges(learned, told=self._wanted is not None, logic=logic)
        self._stretch_from = self._held_from
        self._start(learned, starts_high)
        self.fed = self._held_from
        found = self._through(kept)
        if found.times_s.size < enough:
            self._edges = self._restore = None
            return None
        self.learned = learned
        self._held.clear()
        self._swings.clear()
        return found

    def _start(self, learned: Learned, starts_high: bool | None) -> None:
        self._restore = learned.envelope_stream() or learned.restore_stream(self.rate_hz, starts_high)
        self._in_samples = learned.in_samples
        # the envelope of a tone is known up to half a window ago, and an edge is told when it is over
        self._behind_s = 0.0 if learned.keyed is None else learned.keyed.tone.window_s
        self._edges = learned.edge_stream()

    def _through(self, samples: Samples) -> FoundEdges:
        """Feed samples to the edge finder."""
        assert self._edges is not None
        restored = samples if self._restore is None else self._restore.feed(samples)
        found = self._edges.feed(restored)
        self.fed += samples.size
        at, u = self._in_samples(found.at, found.u)
        at_s = (at + self._stretch_from) * self.interval_s
        return FoundEdges(at_s, found.high, u * self.interval_s, self.until_s, self._edges.starts_high)
