r"""From evidence to verdict, for every kind of limit; and which finer gauge would settle a "not shown".

Picture (m = room from the value to the nearest end; a gauge whose U = 2u fits into m settles it):

           low |----[------x---]---|-------| high        U too wide: not shown
                           x<- m ->|
               |---------[-x-]-----|                     U <= m: shown, if the value stays where it is
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise

from tapewright.gauges.gauge import GAUGES, UNITS, combined
from tapewright.gauges.journal import ByEye, Evidence, Interval
from tapewright.gauges.requirement import Ends, LimitKind, Requirement
from tapewright.number import Limit, Reading, State, Verdict, judge, judge_interval
from tapewright.number.reading import COVERAGE_FACTOR
from tapewright.number.verdict import refuse

ALONE = ""  # the position of a requirement that has only one
WORST_FIRST = (State.OUTSIDE, State.NOT_SHOWN, State.WITHIN)


@dataclass(frozen=True, slots=True)
class PositionVerdict:
    """The verdict at one position."""

    position: str
    verdict: Verdict


def positions_of(requirement: Requirement) -> tuple[str, ...]:
    """Return the places to measure."""
    return requirement.positions or (ALONE,)


def ends_in_force(requirement: Requirement, *, touched: bool) -> Ends:
    """Return the tighter readjust limits once the thing was touched, else the test limits."""
    return requirement.readjust if touched and requirement.readjust is not None else requirement.test


def judge_evidence(requirement: Requirement, found: Mapping[str, Evidence], *, touched: bool) -> Verdict | None:
    """Judge what was found at each position; None when the kind has no limit to judge against.

    The worst position counts. Positions not measured leave the verdict "not shown", unless one is outside already.
    """
    if requirement.kind is LimitKind.NONE_KNOWN:
        return None
    if requirement.kind in COMPARING and not _all_by_eye(found):
        return COMPARING[requirement.kind](requirement, found, ends_in_force(requirement, touched=touched))
    verdicts = [
        PositionVerdict(position, _judge_one(requirement, found.get(position), touched=touched))
        for position in positions_of(requirement)
    ]
    worst = min(verdicts, key=lambda v: (WORST_FIRST.index(v.verdict.state), _room(v.verdict)))
    if worst.position == ALONE:
        return worst.verdict
    return worst.verdict.but(why=f"{worst.position}: {worst.verdict.why}")


def limit_of(requirement: Requirement, *, touched: bool, by_eye: bool = False) -> Limit:
    """Return the numeric limit that is judged against; a yes-or-no answer counts yes as 1 and must be 1."""
    ends = ends_in_force(requirement, touched=touched)
    if by_eye or not _has_numbers(requirement, ends):
        return Limit(requirement.what, 1.0, None, "yes", requirement.source)
    low, high = ends.low, ends.high
    if requirement.kind is LimitKind.FLUSH and high is not None:
        low = -high
    if requirement.kind is LimitKind.NEAR_NOT_TOUCHING or (requirement.kind is LimitKind.ORDERED and low is None):
        low = 0.0
    return Limit(requirement.what, low, high, requirement.unit, requirement.source)


def _has_numbers(requirement: Requirement, ends: Ends) -> bool:
    always = requirement.kind in (LimitKind.NEAR_NOT_TOUCHING, LimitKind.ORDERED)
    return always or ends.low is not None or ends.high is not None


def _judge_one(requirement: Requirement, found: Evidence | None, *, touched: bool) -> Verdict:
    if found is None:
        return refuse(limit_of(requirement, touched=touched), "not measured yet")
    limit = limit_of(requirement, touched=touched, by_eye=isinstance(found, ByEye))
    if isinstance(found, ByEye):
        state, why = (State.WITHIN, "seen by eye") if found.yes else (State.OUTSIDE, "not so, by eye")
        return Verdict(state, limit, float(found.yes), None, why)
    if limit.unit == "yes":
        return refuse(limit, "this asks for yes or no, not for a number")
    verdict = judge_interval(found.low, found.high, limit) if isinstance(found, Interval) else judge(found, limit)
    if requirement.kind is LimitKind.NEAR_NOT_TOUCHING and verdict.state is State.WITHIN and _lowest(found) <= 0:
        return verdict.but(state=State.NOT_SHOWN, why="the reading does not rule out that they touch")
    return verdict


def _compare_spread(requirement: Requirement, found: Mapping[str, Evidence], ends: Ends) -> Verdict:
    """Equal within: largest less smallest, at most `high`."""
    limit = Limit(requirement.what, None, ends.high, requirement.unit, requirement.source)
    lacking = [p for p in requirement.positions if p not in found]
    spread = _difference(max(found.values(), key=_middle), min(found.values(), key=_middle)) if found else None
    return _judge_comparison(limit, spread, lacking)


def _compare_order(requirement: Requirement, found: Mapping[str, Evidence], ends: Ends) -> Verdict:
    """Ordered: each position greater than the next by at least `low`."""
    limit = Limit(requirement.what, ends.low or 0.0, None, requirement.unit, requirement.source)
    lacking = [p for p in requirement.positions if p not in found]
    pairs = [(found[a], found[b]) for a, b in _neighbours(requirement.positions) if a in found and b in found]
    steps = [_difference(a, b) for a, b in pairs]
    return _judge_comparison(limit, min(steps, key=_middle) if steps else None, lacking)


COMPARING: dict[LimitKind, Callable[[Requirement, Mapping[str, Evidence], Ends], Verdict]] = {
    LimitKind.EQUAL_WITHIN: _compare_spread,
    LimitKind.ORDERED: _compare_order,
}


def _judge_comparison(limit: Limit, difference: Evidence | None, lacking: list[str]) -> Verdict:
    if difference is None or isinstance(difference, ByEye):
        return refuse(limit, "not measured yet")
    judged = (
        judge_interval(difference.low, difference.high, limit)
        if isinstance(difference, Interval)
        else judge(difference, limit)
    )
    if lacking and judged.state is not State.OUTSIDE:
        return judged.but(state=State.NOT_SHOWN, why=f"not measured yet: {', '.join(lacking)}")
    return judged


def _difference(a: Evidence, b: Evidence) -> Evidence:
    """Return a less b; two numbers stay a number, anything else becomes an interval."""
    if isinstance(a, Reading) and isinstance(b, Reading):
        if a.value is None or b.value is None:
            return a if a.value is None else b
        u = None if a.u is None or b.u is None else combined([a.u, b.u])
        return Reading(a.value - b.value, u, a.unit)
    (a_low, a_high), (b_low, b_high) = _reach(a), _reach(b)
    return Interval(a_low - b_high, a_high - b_low)


def _reach(found: Evidence) -> tuple[float, float]:
    if isinstance(found, Interval):
        return found.low, found.high
    if isinstance(found, Reading) and found.value is not None and found.expanded is not None:
        return found.value - found.expanded, found.value + found.expanded
    return -math.inf, math.inf


def _middle(found: Evidence) -> float:
    if isinstance(found, Reading):
        return math.inf if found.value is None else found.value
    low, high = _reach(found)
    return (low + high) / 2 if math.isfinite(low + high) else (low if math.isfinite(low) else high)


def _lowest(found: Evidence) -> float:
    return _reach(found)[0]


def _neighbours(positions: tuple[str, ...]) -> list[tuple[str, str]]:
    return list(pairwise(positions))


def _all_by_eye(found: Mapping[str, Evidence]) -> bool:
    return bool(found) and all(isinstance(f, ByEye) for f in found.values())


def _room(verdict: Verdict) -> float:
    """How far inside the limit the value lies; the least decides which position is the worst."""
    if verdict.value is None:
        return -math.inf
    low, high = verdict.limit.low, verdict.limit.high
    return min(
        math.inf if low is None else verdict.value - low,
        math.inf if high is None else high - verdict.value,
    )


@dataclass(frozen=True, slots=True)
class Settle:
    """What would settle it.

    Attributes:
        u_needed: standard uncertainty that would do, in the limit's unit; None when no number can be given.
        gauge: key of the coarsest known gauge that does, None when none of ours does.
        how: in a sentence.
    """

    u_needed: float | None
    gauge: str | None
    how: str


def settle(verdict: Verdict, found: Evidence | None) -> Settle | None:
    """Say what would settle a verdict that is not shown; None when no gauge would (nothing measured, or by eye)."""
    limit = verdict.limit
    ends = [end for end in (limit.low, limit.high) if end is not None]
    if found is None or (verdict.value is None and not isinstance(found, Interval)) or limit.unit == "yes":
        return None
    if isinstance(found, Interval):
        inside = [end for end in ends if found.low < end < found.high or end in (found.low, found.high)]
        named = " and ".join(f"{end:g} {limit.unit}" for end in inside if end) or "the ends of the limit"
        exactly = f"Try a gauge of exactly {named}: whether it goes or not settles it."
        if 0.0 not in inside:
            return Settle(None, None, exactly)
        touching = "See that it does not touch: the thinnest leaf must go; give it with the gauge that does not."
        return Settle(None, None, touching if inside == [0.0] else f"{touching} {exactly}")
    value = verdict.value
    if value is None:
        return None
    room = min(abs(value - end) for end in ends)
    if room == 0:
        return Settle(
            None, None, "The value lies on the end of the limit: no gauge settles that; set it nearer the middle."
        )
    needed = room / COVERAGE_FACTOR
    gauge = coarsest_gauge(value, needed, limit.unit)
    name = GAUGES[gauge].name if gauge else "a gauge finer than any in our table"
    return Settle(
        needed, gauge, f"Needs a gauge good to ± {room:.2g} {limit.unit} (two standard uncertainties): {name}."
    )


def coarsest_gauge(value: float, u_needed: float, unit: str) -> str | None:
    """Return the known gauge with the largest doubt that is still small enough."""
    family = UNITS[unit].family
    fit = {
        key: gauge.u(value, unit)
        for key, gauge in GAUGES.items()
        if UNITS[gauge.unit].family == family and gauge.u(value, unit) <= u_needed
    }
    return max(fit, key=fit.__getitem__) if fit else None
