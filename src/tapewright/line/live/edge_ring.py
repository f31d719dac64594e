"""The edges of the last while, in constant memory.

Codes read out as they come: the sign to show and the text, in the case the line stands in.
"""

import numpy as np

from tapewright.alphabets.shift import Shift, decode_each
from tapewright.line.characters import name
from tapewright.line.document import LineSettings
from tapewright.line.live.live_edges import FoundEdges
from tapewright.recordings.capture import BoolArray, FloatArray, RawEdges, Suspicion


class EdgeRing:
    """Keep the newest edges; give any stretch of them as a recording would."""

    def __init__(self) -> None:
        self._times: FloatArray = np.empty(256)
        self._high: BoolArray = np.empty(256, bool)
        self._u: FloatArray = np.empty(256)
        self._from, self._to = 0, 0
        self.begin_s = self.until_s = 0.0
        self.starts_high: bool | None = None
        self.suspicions: tuple[Suspicion, ...] = ()
        self.levels_known = True

    @property
    def times_s(self) -> FloatArray:
        """All instants kept, shape (n,)."""
        return self._times[self._from : self._to]

    @property
    def level_after(self) -> BoolArray:
        """The levels after them, shape (n,)."""
        return self._high[self._from : self._to]

    def append(self, found: FoundEdges) -> None:
        """Take what a hop has brought."""
        if self.starts_high is None:
            self.starts_high = found.starts_high
        self.until_s = found.until_s
        n = found.times_s.size
        if not n:
            return
        if self._to + n > self._times.size:
            self._make_room(n)
        place = slice(self._to, self._to + n)
        self._times[place], self._high[place], self._u[place] = found.times_s, found.level_after, found.u_s
        self._to += n

    def drop_before(self, time_s: float) -> None:
        """Let go of the edges before a time."""
        gone = int(np.searchsorted(self.times_s, time_s))
        if gone:
            self.starts_high = bool(self.level_after[gone - 1])
            self._from += gone
        self.begin_s = max(self.begin_s, time_s)

    def drop_after(self, time_s: float) -> None:
        """Let go of the edges after a time, as where the recording broke off inside a character."""
        self._to = self._from + int(np.searchsorted(self.times_s, time_s, side="right"))

    def since(self, begin_s: float, until_s: float | None = None) -> RawEdges:
        """Return the edges between two times as a recording of its own."""
        end_s = self.until_s if until_s is None else until_s
        begin_s = max(begin_s, self.begin_s)
        first, last = np.searchsorted(self.times_s, [begin_s, end_s]).tolist()
        starts = bool(self.level_after[first - 1]) if first else self.starts_high
        return RawEdges(
            self.times_s[first:last].copy(),
            self.level_after[first:last].copy(),
            self._u[self._from + first : self._from + last].copy(),
            starts,
            begin_s,
            end_s,
            levels_known=self.levels_known,
            suspicions=self.suspicions,
        )

    def _make_room(self, n: int) -> None:
        """Move to the front; grow only when what is kept has grown."""
        kept = self._to - self._from
        size = max(256, 2 * (kept + n))
        for array in ("_times", "_high", "_u"):
            old = getattr(self, array)
            new = np.empty(size, old.dtype)
            new[:kept] = old[self._from : self._to]
            setattr(self, array, new)
        self._from, self._to = 0, kept


class ReadOut:
    """Remembers which case the line stands in."""

    def __init__(self, settings: LineSettings) -> None:
        self._alphabet, self._unshift_on_space = settings.alphabet, settings.unshift_on_space
        self._shift = Shift.LETTERS

    def begin_anew(self) -> None:
        """Stand in letters again."""
        self._shift = Shift.LETTERS

    def read(self, code: str) -> tuple[str, str]:
        """Return a code's sign and its text in the case the line stands in; go on in the case it leaves."""
        (shift, text), (after, _) = decode_each(
            [code, code], self._alphabet, unshift_on_space=self._unshift_on_space, start=self._shift
        )
        self._shift = after
        return name(code, shift, self._alphabet), text
