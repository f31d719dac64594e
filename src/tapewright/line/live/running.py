"""The running figures: what the last characters say together, by the code that measures recordings."""

from collections import deque
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from tapewright.line.document import LineResult, LineSettings
from tapewright.line.frames import Frames, Offsets
from tapewright.line.groups import Groups
from tapewright.line.instants import Instants
from tapewright.line.live.edge_ring import EdgeRing
from tapewright.line.live.needles import Expected
from tapewright.line.live.settling import Settled
from tapewright.line.measure import measure_line
from tapewright.line.speed import character_speeds
from tapewright.line.unit_length import UnitGuess, measured_offsets
from tapewright.number import Reading, missing
from tapewright.recordings.capture import FloatArray

#: characters the running figures are made of
WINDOW = 40
#: figures are made anew with each of the first characters, then with every fourth, and when the line rests
EACH_UP_TO, EVERY = 8, 4
RESTS_S = 0.4
TOO_FEW = "too few instants in this character"


class Running:
    """Keep the window over the last characters and what it says.

    Args:
        settings: what the user said about the signal.
        guess: unit and polarity.
    """

    def __init__(self, settings: LineSettings, guess: UnitGuess) -> None:
        # what was sent is compared at the end; a window of it would only miss its ends
        self._settings = replace(settings, expect=None)
        self.guess = guess
        self.expected = Expected(guess.unit_s, 0.0, 0.0)
        self.offsets = Offsets()
        self.result: LineResult | None = None
        self._starts: deque[float] = deque(maxlen=WINDOW)
        self._since_refresh, self._seen = 0, 0
        self._groups: Groups | None = None

    def take(self, character: Settled) -> Reading:
        """Take a character into the window; give its own unit."""
        self._starts.append(character.start_s)
        self._since_refresh += 1
        self._seen += 1
        return self._own_unit(character)

    def due(self, now_s: float, *, hurry: bool = False) -> bool:
        """Return whether the figures are to be made anew; in a hurry only when the window is full of new ones."""
        if not self._since_refresh or (hurry and self._since_refresh < WINDOW):
            return False
        rests = now_s - self._starts[-1] > RESTS_S + 8 * self.expected.unit_s
        return self._seen <= EACH_UP_TO or self._since_refresh >= EVERY or rests

    def measuring_window(self, ring: EdgeRing) -> Callable[[], LineResult]:
        """Return the measuring of the window, to be done now or later; `learn_from` takes what it gives."""
        self._since_refresh = 0
        return self.measuring(ring, self._starts[0], ring.until_s)

    def look_ahead(self, ring: EdgeRing, begin_s: float) -> None:
        """Learn from characters that came while nothing was known, before they are given out one by one."""
        self.learn_from(self.measuring(ring, begin_s, ring.until_s)())

    def learn_from(self, result: LineResult) -> None:
        """Take figures in: needles are laid beside them from now on."""
        self.result, trace = result, result.trace
        if trace is not None:
            self.guess = replace(self.guess, unit_s=trace.groups.unit_s)
            self.expected = Expected(trace.split.unit_s, trace.split.closings_s, trace.split.openings_s)
            self.offsets = measured_offsets(trace.instants, trace.groups.unit_s)
            self._groups = trace.groups

    def measuring(self, ring: EdgeRing, begin_s: float, until_s: float) -> Callable[[], LineResult]:
        """Return the measuring of what lies between two times, the rest before the first start with it.

        It carries its own edges, so it may be done later and elsewhere.
        """
        edges, settings, guess = ring.since(begin_s - self.guess.unit_s, until_s), self._settings, self.guess
        return lambda: measure_line(edges, settings, guess)

    def forget(self) -> None:
        """Begin a new window, as after a screw was turned."""
        self._starts.clear()
        self._since_refresh = self._seen = 0

    def _own_unit(self, character: Settled) -> Reading:
        """Return the unit of one character, with each contact's mean taken out as far as it is known."""
        groups = self._groups
        if groups is None:
            return missing("ms", TOO_FEW)
        k = character.boundary
        key = k * 2 + character.to_mark
        names = (groups.boundary * 2 + groups.to_mark).tolist()
        known = dict(zip(names, groups.mean_s.tolist(), strict=True))
        mean = np.array([known.get(each, np.nan) for each in key.tolist()], float)
        residual = np.where(character.chatter, np.nan, character.elapsed_s - k * groups.unit_s - mean)
        one = character_speeds(
            _one_frame(character), _its_instants(character), replace(groups, residual_s=residual), groups.unit_s,
            np.zeros(k.size),
        )  # fmt: skip
        unit_s, u_s = float(one.unit_s[0]), float(one.unit_u_s[0])
        return Reading(1e3 * unit_s, 1e3 * u_s, "ms", 1) if np.isfinite(unit_s) else missing("ms", TOO_FEW)


def _one_frame(character: Settled) -> Frames:
    marks = np.array([[bit == "1" for bit in character.code]])
    start: FloatArray = np.array([character.start_s])
    yes = np.array([True])
    return Frames(np.array([0]), start, marks, yes, yes, np.empty(0), 0, 0.0)


def _its_instants(character: Settled) -> Instants:
    n = character.boundary.size
    return Instants(
        frame=np.zeros(n, np.int64),
        boundary=character.boundary,
        to_mark=character.to_mark,
        elapsed_s=character.elapsed_s,
        u_s=character.u_s,
        bounce_s=character.bounce_s,
        chatter=character.chatter,
        split_boundary=np.empty(0, np.int64),
        split_frame=np.empty(0, np.int64),
        split_at_s=np.empty(0),
        split_s=np.empty(0),
    )
