r"""Is time missing from the recording? A steady sender's characters begin in step; where one does not, time was lost.

Picture (| = start transition; P = character period of a sender at full speed):

    whole      |------P------|------P------|------P------|------P------|
    cut        |------P------|---P - lost--|------P------|------P------|      begins too early
                                  ^
    cut        |------P------|---- no multiple of P, with pieces ------|      a character went with it

No start-stop sender can begin a character before the stop of the one before has run, so a start that comes early
against an otherwise steady period is no fault of timing. A late one may be a pause, and is taken as a sign only when
pieces lie in it that make no character. Of characters keyed by hand, with pauses of all lengths, nothing can be said.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.line.frames import Frames, IntArray
from tapewright.line.transitions import Transitions
from tapewright.recordings.capture import FloatArray, Suspicion

#: A sender is steady when this share of its pauses, and at least so many, lie within this much of the usual one
#: (units; owner's choice).
STEADY_SHARE, FEWEST_PAUSES, STEADY_UNITS = 0.7, 8, 0.25
#: A start is out of step beyond this share of a unit and this many robust standard deviations of the pauses.
LEAST_UNITS, SIGMAS = 0.08, 8.0
#: A character, with the distortion of its last boundary, is over by then, in units after its elements.
OVER_UNITS = 1.5


@dataclass(frozen=True, slots=True, eq=False)
class LostTime:
    """Places where time is missing.

    Attributes:
        before: shape (n,), number of the last character in step before each place, rising.
        after: shape (n,), number of the first one after it.
        lost_s: shape (n,), time missing there, up to whole periods.
        steady_s: how steady the pauses are elsewhere, a robust standard deviation.
    """

    before: IntArray
    after: IntArray
    lost_s: FloatArray
    steady_s: float

    @property
    def beside(self) -> set[int]:
        """Return the numbers of the characters on either side of these places, and within them."""
        places = zip(self.before.tolist(), self.after.tolist(), strict=True)
        return {number for begin, end in places for number in range(begin, end + 1)}


def find_lost_time(frames: Frames, line: Transitions, unit_s: float) -> LostTime:
    """Find where the starts of a steady sender fall out of step."""
    periods = np.diff(frames.start_s)
    none = LostTime(np.empty(0, np.int64), np.empty(0, np.int64), np.empty(0), 0.0)
    usual = float(np.median(periods)) if periods.size >= FEWEST_PAUSES else 0.0
    near = np.abs(periods - usual) < STEADY_UNITS * unit_s
    if np.count_nonzero(near) < max(FEWEST_PAUSES, STEADY_SHARE * periods.size):
        return none
    steady_s = 1.4826 * float(np.median(np.abs(periods[near] - usual)))
    allowed = max(LEAST_UNITS * unit_s, SIGMAS * steady_s)
    late, lost = periods - usual, -periods % usual
    over = frames.start_s[:-1] + (frames.elements.shape[1] + OVER_UNITS) * unit_s
    pieces = np.searchsorted(line.first_s, frames.start_s[1:]) > np.searchsorted(line.first_s, over)
    out = (late < -allowed) | ((late > allowed) & pieces & (np.minimum(lost, usual - lost) > allowed))
    # one gap may put several periods out, when a character is found where there was none
    change = np.diff(np.concatenate([[False], out, [False]]).astype(np.int8))
    before, after = np.flatnonzero(change == 1), np.flatnonzero(change == -1)
    return LostTime(before, after, -(frames.start_s[after] - frames.start_s[before]) % usual, steady_s)


def doubt_time(found: LostTime, frames: Frames) -> tuple[Suspicion, ...]:
    """Say where time is missing, how much, and what that does to the text."""
    n = found.before.size
    if not n:
        return ()
    named = zip(frames.start_s[found.before][:3], found.lost_s[:3], strict=True)
    places = ", ".join(f"{at:.2f} s ({1e3 * lost:.1f} ms)" for at, lost in named)
    evidence = (
        f"the characters follow each other to {1e3 * max(found.steady_s, 1e-5):.2g} ms, but after "
        f"{n} of them the next is out of step: the one at {places}{' and more' if n > 3 else ''}. "
        "No start-stop sender begins before its stop has run"
    )
    do = (
        "Samples were lost there, or the sender was disturbed: characters beside these places may be wrong or gone. "
        "Record again, at a lower rate or to a faster disk."
    )
    return (Suspicion("time missing from the recording", evidence, do),)
