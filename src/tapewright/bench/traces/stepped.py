r"""A list of level changes as a trace.

Picture (one column holds three edges: least 0, greatest 1; the next holds none: one level):

    1        +-+ +--------
             | | |
    0  ------+ +-+
       |     .   |       |   columns
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tapewright.bench.traces.window import Window
from tapewright.recordings.capture import RawEdges


@dataclass(frozen=True, slots=True, eq=False)
class SteppedTrace:
    """Level changes of one channel, 0 and 1."""

    edges: RawEdges

    @property
    def begin_s(self) -> float:
        """Return the begin of the recording."""
        return self.edges.begin_s

    @property
    def end_s(self) -> float:
        """Return the end of the recording."""
        return self.edges.end_s

    def window(self, from_s: float, to_s: float, columns: int) -> Window:
        """Return a stretch of it: each edge as a step where there is room, else columns."""
        from_s, to_s = max(from_s, self.begin_s), min(to_s, self.end_s)
        if not to_s > from_s:
            return Window(np.empty(0), np.empty(0, np.uint8), np.empty(0, np.uint8), True)
        first, last = np.searchsorted(self.edges.times_s, (from_s, to_s))
        if last - first <= columns:
            return self._steps(from_s, to_s, int(first), int(last))
        bounds = np.linspace(from_s, to_s, columns + 1)
        place = np.searchsorted(self.edges.times_s, bounds)
        level = self._level_before(place[:-1])
        moves = np.diff(place) > 0
        return Window((bounds[:-1] + bounds[1:]) / 2, np.where(moves, 0, level), np.where(moves, 1, level), False)

    def close(self) -> None:
        """Nothing is on disk."""

    def _steps(self, from_s: float, to_s: float, first: int, last: int) -> Window:
        inside = np.arange(first, last)
        times = np.concatenate(([from_s], np.repeat(self.edges.times_s[first:last], 2), [to_s]))
        levels = np.repeat(self._level_before(np.append(inside, last)), 2)
        return Window(times, levels, levels, True)

    def _level_before(self, place: npt.NDArray[np.int64]) -> npt.NDArray[np.uint8]:
        """Return the level just before each edge, shape (n,); place n is after the last."""
        after = self.edges.level_after
        begins = bool(self.edges.starts_high) if self.edges.starts_high is not None or not after.size else not after[0]
        return np.concatenate(([begins], after)).astype(np.uint8)[place]
