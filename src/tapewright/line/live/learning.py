"""What the levels are, from the first stretch of a line that is being watched.

Unit and polarity of a watched line, from its first edges; and whether they still fit later.
"""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt

from tapewright.line.document import LineSettings
from tapewright.line.measure import guess_unit
from tapewright.line.unit_length import LONGEST_SETTLING_S, UnitGuess
from tapewright.recordings.capture import RawEdges, Samples
from tapewright.recordings.edges.blocks import Thresholds
from tapewright.recordings.edges.extract import survey
from tapewright.recordings.edges.learned import Learned, learn_levels

#: edges that show what the levels are: two characters or three; where they sag, how they do needs more of them
ENOUGH_FLAT, ENOUGH_SAGGING, ENOUGH_LOGIC = 12, 30, 1
#: a hop moves when it swings at least this part of what the liveliest does
MOVES = 0.5


class _InMemory:
    """Some samples of one channel, as a file of them would be read."""

    channels = 1

    def __init__(self, samples: Samples) -> None:
        self._samples, self.count = samples, samples.size

    def read(self, first: int, count: int) -> list[Samples]:
        """Return `count` samples from number `first` on."""
        return [self._samples[first : first + count]]


def learn(samples: npt.NDArray[Any], interval_s: float, wanted: Thresholds | None) -> Learned:
    """Learn the levels from samples, shape (n,)."""
    if samples.dtype == np.bool_:
        samples = samples.view(np.uint8)
    reader = _InMemory(samples)
    ((kept, some),) = survey(reader, lambda fraction: None)
    return learn_levels(reader, 0, kept, some, interval_s, wanted)


def enough_edges(learned: Learned, *, told: bool, logic: bool) -> int:
    """Return how many edges must have been seen before the levels count as known.

    Args:
        learned: what was learned so far.
        told: whether the user has said the thresholds.
        logic: whether the samples can only be 0 and 1.
    """
    if told or logic:
        return ENOUGH_LOGIC
    return ENOUGH_SAGGING if learned.sagging is not None else ENOUGH_FLAT


#: transitions wanted before the unit is guessed (about eight characters), and how many more for each further try
FIRST_TRY, MORE = 40, 1.15
#: a guess that fits as well as this is taken at once; one that fits worse, or has a rival, after so many transitions
GOOD_MISFIT, POOR_BUT_SURE, RIVAL_OR_NOT = 0.12, 120, 300
#: a guess that fits no better than this is none
WORST_MISFIT = 0.5
#: transitions after which a unit that was told is checked, and after which one that was found is
CHECK_AT = (60, 250)
#: a unit is dropped for one that differs by more than this
DIFFERS = 0.04


class SpeedFinder:
    """Say when the unit is known, and when it must be another."""

    def __init__(self, settings: LineSettings) -> None:
        self._settings = settings
        self._next_try = FIRST_TRY
        self._checks = list(CHECK_AT)

    def told(self, edges: RawEdges, now_s: float) -> UnitGuess | None:
        """Return the guess from the nominal speed as soon as a first character is over; None before that."""
        nominal = self._settings.nominal_baud
        if nominal is None or edges.times_s.size < 2:
            return None
        unit_s = 1 / nominal
        if now_s - float(edges.times_s[-1]) < (self._settings.elements + 2) * unit_s:
            return None
        idle = self._settings.idle
        # the line rests on mark between characters
        high = bool(edges.level_after[-1]) if idle == "auto" else idle == "high"
        return UnitGuess(unit_s, high, 0.0)

    def found(self, edges: RawEdges) -> UnitGuess | None:
        """Return the guess from the edges alone; None while there are too few."""
        n = transitions_in(edges)
        if n < self._next_try:
            return None
        self._next_try = math.ceil(n * MORE)
        guess, _ = guess_unit(ends_at_rest(edges), self._settings)
        if guess is None or guess.misfit > (GOOD_MISFIT if n < POOR_BUT_SURE else WORST_MISFIT):
            return None
        return guess if guess.rival_s is None or n >= RIVAL_OR_NOT else None

    def must_find(self, edges: RawEdges) -> UnitGuess | None:
        """Return the guess from what there is, however little."""
        return guess_unit(edges, self._settings)[0]

    def better(self, edges: RawEdges, guess: UnitGuess) -> UnitGuess | None:
        """Return another unit or polarity when the one in use does not fit; looks only now and then."""
        if not self._checks or transitions_in(edges) < self._checks[0]:
            return None
        self._checks.pop(0)
        return self.must_be(edges, guess)

    def must_be(self, edges: RawEdges, guess: UnitGuess) -> UnitGuess | None:
        """Return another unit or polarity when that fits clearly better than the one in use."""
        other, _ = guess_unit(ends_at_rest(edges), self._settings)
        if other is None or other.misfit > WORST_MISFIT:
            return None
        same = abs(np.log(other.unit_s / guess.unit_s)) < DIFFERS and other.mark_is_high == guess.mark_is_high
        return None if same else other


def ends_at_rest(edges: RawEdges) -> RawEdges:
    """Cut the end so that the line stands on the level it began on: cut inside a character, no unit fits well."""
    if edges.times_s.size < 2 or bool(edges.level_after[-1]) == edges.starts_high:
        return edges
    return replace(
        edges,
        times_s=edges.times_s[:-1],
        level_after=edges.level_after[:-1],
        u_s=edges.u_s[:-1],
        end_s=float(edges.times_s[-1]),
    )


def transitions_in(edges: RawEdges) -> int:
    """Count the bursts of edges: what bounces is one transition."""
    return int(np.count_nonzero(np.diff(edges.times_s) > LONGEST_SETTLING_S)) + bool(edges.times_s.size)
