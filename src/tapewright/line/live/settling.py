r"""Characters as they complete, framed by the code that frames recordings.

Picture (S = start; a character settles once the middle of its stop has been seen and its burst is over):

    mark   ---+     +-----+           +----------------
              |     |     |           |    :  ^ settles here: S + 6.5 units + settling window
    space     +-----+     +-----------+    :
           0=S                        6   6.5
                                          resume here: what lies before is settled for good

Each step frames what lies between the last settled character and now, all at once; a start that the framing gives up
as noise is passed over. So a character is decided by the edges before it and its own, never by the pieces they came in.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.line.frames import NEXT_START_UNITS_AFTER_LAST_ELEMENT, IntArray, Offsets, find_frames
from tapewright.line.instants import find_instants
from tapewright.line.live.edge_ring import EdgeRing
from tapewright.line.transitions import find_transitions
from tapewright.line.unit_length import settling_s
from tapewright.recordings.capture import BoolArray, FloatArray

#: units after the last element at which a stop has been looked at, as for a recording
STOP_SEEN_UNITS = 1.5
#: a start that no character came of is given up after so many units
GIVEN_UP_UNITS = 12.0


@dataclass(frozen=True, slots=True, eq=False)
class Settled:
    """One character, complete.

    Attributes:
        start_s: its start transition.
        code: element 1 first.
        stopped: whether mark was there in the middle of the stop.
        stop_before_units: rest since the stop of the character before began, in units; None for the first.
        boundary: shape (n,), k of each of its instants.
        to_mark: shape (n,), direction.
        elapsed_s: shape (n,), time since its start.
        u_s: shape (n,), standard uncertainty from the instrument.
        bounce_s: shape (n,), last less first edge.
        chatter: shape (n,), True where the transition says nothing about timing.
    """

    start_s: float
    code: str
    stopped: bool
    stop_before_units: float | None
    boundary: IntArray
    to_mark: BoolArray
    elapsed_s: FloatArray
    u_s: FloatArray
    bounce_s: FloatArray
    chatter: BoolArray


@dataclass(frozen=True, slots=True)
class LineBreak:
    """The line stood on space for longer than any character does."""

    begin_s: float


class Settling:
    """Follow the line from character to character.

    Args:
        unit_s: length of the unit; may be set anew at any time.
        mark_is_high: polarity.
        elements: elements in a character.
        resume_s: what lies before is not looked at.
    """

    def __init__(self, unit_s: float, *, mark_is_high: bool, elements: int, resume_s: float) -> None:
        self.unit_s, self.mark_is_high, self.elements = unit_s, mark_is_high, elements
        self.offsets = Offsets()
        self.resume_s = resume_s
        self.skipped = 0
        self._last_start_s: float | None = None
        self._not_before_s = 0.0

    def settle(self, ring: EdgeRing) -> list[Settled | LineBreak]:
        """Return the characters that are complete by now and have not been given before."""
        if not self._due(ring):
            return []
        line = find_transitions(
            ring.since(self.resume_s), mark_is_high=self.mark_is_high, settling_s=settling_s(self.unit_s)
        )
        frames = find_frames(line, self.unit_s, offsets=self.offsets, elements=self.elements)
        whole = frames.complete & (frames.start_s + self._settles_s() <= ring.until_s)
        instants = find_instants(line, frames, self.unit_s, self.offsets)
        out: list[Settled | LineBreak] = [LineBreak(at) for at in frames.breaks_s.tolist()]
        for i in np.flatnonzero(whole).tolist():
            mine = instants.frame == i
            out.append(
                Settled(
                    start_s=float(frames.start_s[i]),
                    code=frames.codes[i],
                    stopped=bool(frames.stopped[i]),
                    stop_before_units=self._stop_before(float(frames.start_s[i])),
                    boundary=instants.boundary[mine],
                    to_mark=instants.to_mark[mine],
                    elapsed_s=instants.elapsed_s[mine],
                    u_s=instants.u_s[mine],
                    bounce_s=instants.bounce_s[mine],
                    chatter=instants.chatter[mine],
                )
            )
            self._last_start_s = float(frames.start_s[i])
        self._go_on(ring, frames.start_s, whole, frames.breaks_s)
        return out

    def break_off(self) -> None:
        """Say that the line was not seen for a while: the next character follows none."""
        self._last_start_s = None

    def _settles_s(self) -> float:
        return (self.elements + STOP_SEEN_UNITS) * self.unit_s + settling_s(self.unit_s)

    def _due(self, ring: EdgeRing) -> bool:
        """Return whether a start that was not looked at yet could be complete by now."""
        if ring.until_s < self._not_before_s:
            return False
        times = ring.times_s
        first = int(np.searchsorted(times, self.resume_s))
        to_space = np.flatnonzero(ring.level_after[first : first + 2] != self.mark_is_high)
        return bool(to_space.size) and ring.until_s >= times[first + int(to_space[0])] + self._settles_s()

    def _stop_before(self, start_s: float) -> float | None:
        if self._last_start_s is None:
            return None
        return (start_s - self._last_start_s) / self.unit_s - (self.elements + 1)

    def _go_on(self, ring: EdgeRing, starts: FloatArray, whole: BoolArray, breaks: FloatArray) -> None:
        """Say from where on to look next, and not before when."""
        cycle_s = (self.elements + 1 + NEXT_START_UNITS_AFTER_LAST_ELEMENT) * self.unit_s
        if whole.any():
            self.resume_s = float(starts[whole][-1]) + cycle_s
        open_starts = starts[~whole]
        if open_starts.size:
            self._not_before_s = float(open_starts[0]) + self._settles_s()
            return
        if breaks.size:
            # mark again, or still space: whatever comes next begins after it
            self.resume_s = max(self.resume_s, float(breaks[-1]) + self.unit_s)
        elif not whole.any():
            self.skipped += 1
            self.resume_s = max(self.resume_s, ring.until_s - GIVEN_UP_UNITS * self.unit_s)
            self._not_before_s = ring.until_s + self.unit_s
