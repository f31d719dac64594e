r"""Is a drive steady enough for a verdict on timing, or only for a test of function?

A speed that swings by a (relative, one way) f times a second displaces the boundaries of a character. Boundary k lies
tau = k T after the start, and the largest displacement over all phases of the swing is, in units,

    a |sin(pi f tau)| / (pi f T)          largest at boundary 6, or where f tau = 1/2

Picture (boundary 6, f slow: the whole character is too long or too short):

    a slow swing   6 a units             a fast swing   a / (pi f T) units, less the faster it is

Derived: integral of a sin(2 pi f t + phase) from 0 to tau. A slow swing of 0.75 % gives 4.5 % of a unit.

A verdict on timing with limit d asks that the drive displaces nothing by more than a quarter of d (the 4:1 rule of
calibration practice, from memory). Readings of a tachometer are means over a second or so: they can show that a drive
is too unsteady, never that it is steady enough, because swings within a character do not show in them.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tapewright.number import Limit, Reading, Source, Standing, State, Verdict, judge
from tapewright.number.verdict import refuse

LAST_BOUNDARY = 6
SHARE = 4
FEWEST_READINGS = 3
CHECK = "displacement by the drive's swing"
AVERAGED = (
    "a tachometer shows means over a second or so; swings within a character do not show in them. "
    "Record the line and take the ripple from `tapewright line read`"
)


@dataclass(frozen=True, slots=True)
class Steadiness:
    """The answer.

    Attributes:
        swing_percent: how far the speed swings, one way.
        displaced: by how much that displaces a boundary at most, per cent of a unit.
        verdict: within = good enough for a verdict on timing, outside = for a test of function only.
    """

    swing_percent: Reading
    displaced: Reading
    verdict: Verdict


def displacement_units(swing: float, hz: float | None, unit_s: float) -> float:
    """Return the largest displacement by a swing (relative) of that frequency; None: by the worst, a slow one."""
    tau_s = LAST_BOUNDARY * unit_s
    if not hz:
        return swing * LAST_BOUNDARY
    turn = min(math.pi * hz * tau_s, math.pi / 2)
    return swing * math.sin(turn) / (math.pi * hz * unit_s)


def allowed(limit_percent: float, source: Source) -> Limit:
    """Return what the drive may displace when instants are to be judged by that limit."""
    quarter = Source(f"a quarter of {limit_percent:g} % of a unit ({source})", "4:1 rule, from memory", source.standing)
    return Limit(CHECK, None, limit_percent / SHARE, "percent", quarter)


def from_swing(swing_percent: Reading, hz: float | None, unit_s: float, limit: Limit) -> Steadiness:
    """Judge by a swing that was measured within the characters, as `line read` does."""
    displaced = swing_percent.scaled(displacement_units(1.0, hz, unit_s), "percent")
    return Steadiness(swing_percent, displaced, judge(displaced, limit))


def from_readings(rpm: Sequence[float], unit_s: float, limit: Limit) -> Steadiness:
    """Judge by readings of a tachometer, at least two: shown to be too unsteady, or not shown.

    The swing is sqrt 2 times their standard deviation s, as for a sine; u(s) = s / sqrt(2 (n - 1)) (normal readings).
    """
    n = len(rpm)
    mean = math.fsum(rpm) / n
    s = 100 * math.sqrt(math.fsum((x - mean) ** 2 for x in rpm) / (n - 1)) / mean
    swing = Reading(math.sqrt(2) * s, math.sqrt(2) * s / math.sqrt(2 * (n - 1)), "percent", n, "tachometer")
    displaced = swing.scaled(displacement_units(1.0, None, unit_s), "percent")
    if n < FEWEST_READINGS:
        return Steadiness(swing, displaced, refuse(limit, f"{n} readings are too few; take {FEWEST_READINGS} or more"))
    verdict = judge(displaced, limit)
    if verdict.state is not State.OUTSIDE:
        verdict = Verdict(State.NOT_SHOWN, limit, displaced.value, displaced.u, AVERAGED)
    return Steadiness(swing, displaced, verdict)


def unknown(limit: Limit) -> Steadiness:
    """Return the answer when nothing was measured."""
    why = "nothing was measured of how steady it runs"
    reading = Reading(None, None, "percent", how=why)
    return Steadiness(reading, reading, refuse(limit, why))


#: the limit when the owner states none, from memory
USUAL_LIMIT_PERCENT = 10.0
USUAL_SOURCE = Source("ITU-T S.3, gross start-stop distortion", "50 baud, local end", Standing.MEMORY)
