r"""Is it ours? A start-stop signal of five elements, or another kind of signal that only looks like one in places.

Picture (what each number of elements leaves over; s = a mark-to-space transition that begins no character):

    five elements read as five      | char | char | char | char          nothing left over
    seven elements read as five     | char |s s| char |s| char           much left over
    seven elements read as seven    | character | character              nothing left over
    no start-stop signal            | char |s| char |s s| char           much left over, whatever is tried

A character that no stop follows is left over too. Another number of elements is taken only when it leaves almost
nothing over where five leave much; where none does, the signal is no start-stop signal of any kind we know. The shares
were chosen from signals of 5 to 9 elements, with parity and without, in streams and by hand, and from signals that
are no start-stop signals at all (tests/line/other_signals.py); five-unit signals leave under one in fifty over.
"""

from collections.abc import Callable, Sequence

import numpy as np

from tapewright.line.frames import ELEMENTS, Frames, find_frames
from tapewright.line.transitions import Transitions
from tapewright.recordings.capture import FloatArray

#: Starts that are enough to tell by.
FEWEST = 16
#: From this share on the speed of what is read as five elements is not called proven.
DOUBTFUL = 0.15
#: Five elements are beyond doubt below the first share left over; no signal of ours is above the second.
OURS, NOT_OURS = 0.06, 0.25
#: Another number of elements leaves at most this over, and at most this share of what five leave.
FITS, FAR_BETTER = 0.04, 0.25
#: From this share on, or with instants so far out in units, it is tried whether the speed swings or sags.
SWINGS, MOST_TO_FOLLOW, FAR_OUT = 0.004, 20_000, 0.25
STARTS_AND_STOPS = "a start-stop signal of"
RIVALS = range(ELEMENTS, 10)
WORDS = {5: "five", 6: "six", 7: "seven", 8: "eight", 9: "nine"}


def other_kind(frames: Frames, unit_s: float, lines: Callable[[], Sequence[Transitions]]) -> str:
    """Return what the signal is when it is not a start-stop signal of five elements; empty when it is, or too short.

    Args:
        frames: read as five elements.
        unit_s: the unit.
        lines: gives its transitions with either level taken for mark: which of them rests is known only when the number
            of elements is right. Asked only where five elements leave much over.
    """
    if frames.start.size + frames.skipped < FEWEST:
        return ""
    mine = left_over(frames)
    if mine <= OURS:
        return ""
    both = lines()
    # five elements read into something else may have halved its unit
    tried = {
        (unit, n): min((find_frames(line, unit, elements=n) for line in both), key=left_over)
        for unit in (unit_s, 2 * unit_s)
        for n in RIVALS
    }
    least = min(left_over(each) for each in tried.values())
    if least <= FITS and least <= FAR_BETTER * mine:
        (unit, n), found = next(each for each in tried.items() if left_over(each[1]) <= least + 0.01)
        if n == ELEMENTS:
            return ""
        stops = np.diff(found.start_s) / unit - (found.elements.shape[1] + 1)
        shortest = f", a stop of {float(np.percentile(stops, 10)):.1f} units or more" if stops.size else ""
        return f"{STARTS_AND_STOPS} {_elements(found)} at {1 / unit:.4g} Bd{shortest}"
    if mine > NOT_OURS:
        return (
            f"no start-stop signal of five to nine elements ({100 * mine:.0f} % of what could begin a character at "
            f"{1 / unit_s:.4g} Bd begins none): synchronous, self-clocking, two senders, or noise"
        )
    return ""


def may_swing(frames: Frames, other: str, farthest_units: FloatArray) -> bool:
    """Return whether so much begins no character, or has no stop, that the speed may have run away from the framing.

    Or instants lie so far out that it soon will. Not where the signal is plainly of `other` elements, and not in a
    recording too long to try it.
    """
    possible = frames.start.size + frames.skipped
    return (
        FEWEST <= possible <= MOST_TO_FOLLOW
        and not other.startswith(STARTS_AND_STOPS)
        and (left_over(frames) > SWINGS or float(farthest_units.max()) > FAR_OUT)
    )


def reads_better(followed: Frames, plain: Frames) -> bool:
    """Return whether framing that follows the speed leaves so little over that the speed is what was wrong."""
    left = left_over(followed)
    return left <= OURS and left <= max(FAR_BETTER * left_over(plain), SWINGS)


def left_over(frames: Frames) -> float:
    """Return the share of possible starts that begin no character, or one without a stop."""
    starts = frames.start.size + frames.skipped
    # the last one may be cut off
    unstopped = int(np.count_nonzero(~frames.stopped[:-1]))
    return (frames.skipped + unstopped) / starts if starts else 1.0


def _elements(frames: Frames) -> str:
    n = frames.elements.shape[1]
    odd = frames.elements[:-1].sum(axis=1) % 2
    for parity, name in ((0, "even"), (1, "odd")):
        if odd.size >= FEWEST and (odd == parity).all():
            return f"{WORDS[n - 1]} elements and {name} parity"
    return f"{WORDS[n]} elements"
