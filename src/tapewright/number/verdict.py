r"""A verdict has three answers: within, outside, not shown.

Picture (the bar is the limit, the bracket the reading with its expanded uncertainty):

           low |---------------------| high
                     [--x--]                     within: wholly inside
                                     |  [--x--]  outside: wholly outside
                                 [--x--]         not shown: it straddles an end

Guard band by the expanded uncertainty U = 2u on both sides (JCGM 106:2012, 8.3.2 guarded acceptance
and 8.3.3 guarded rejection with w = U; ISO 14253-1 decision rules). Clause numbers from memory.
A go/no-go reading is an interval, not a number: the same rule with the interval's own ends.
"""

import math
from enum import Enum

from tapewright.number.fixed import Fixed
from tapewright.number.limit import Limit
from tapewright.number.reading import Reading

#: Relative size of binary rounding that is forgiven at the end of a limit.
ROUNDING = 1e-12


class State(Enum):
    """The three answers."""

    WITHIN = "within"
    OUTSIDE = "outside"
    NOT_SHOWN = "not shown"


class Verdict(Fixed):
    """An answer with all that made it.

    Attributes:
        state: one of the three answers.
        limit: the limit judged against.
        value: the value judged, in `limit.unit`; None when there was none.
        u: its standard uncertainty; None for an interval or when unknown.
        why: the reason in a short sentence.
    """

    __slots__ = ("limit", "state", "u", "value", "why")

    state: State
    limit: Limit
    value: float | None
    u: float | None
    why: str

    def __init__(self, state: State, limit: Limit, value: float | None, u: float | None, why: str) -> None:
        self._fix(state=state, limit=limit, value=value, u=u, why=why)


def judge(reading: Reading, limit: Limit) -> Verdict:
    """Judge a reading against a limit in the same unit, guarded by U = 2u.

    A reading without a value or without a known uncertainty is never shown to be anything.

    Raises:
        ValueError: when the units differ.
    """
    if reading.unit != limit.unit:
        raise ValueError(f"{limit.check!r} is in {limit.unit}, the reading in {reading.unit}")
    if reading.value is None or reading.expanded is None:
        why = reading.how or ("there is no reading" if reading.value is None else "its uncertainty is not known")
        return Verdict(State.NOT_SHOWN, limit, reading.value, reading.u, why)
    state, why = _place(reading.value - reading.expanded, reading.value + reading.expanded, limit)
    return Verdict(state, limit, reading.value, reading.u, why)


def judge_interval(lowest: float, highest: float, limit: Limit) -> Verdict:
    """Judge a reading that is only known to lie in [lowest, highest] (either may be infinite)."""
    if not lowest <= highest:
        raise ValueError(f"an interval needs its lower end first, not [{lowest}, {highest}]")
    state, why = _place(lowest, highest, limit)
    middle = (lowest + highest) / 2
    return Verdict(state, limit, middle if math.isfinite(middle) else None, None, why)


def refuse(limit: Limit, why: str) -> Verdict:
    """Return "not shown" with a reason, when a verdict may not be given at all."""
    return Verdict(State.NOT_SHOWN, limit, None, None, why)


def _place(lowest: float, highest: float, limit: Limit) -> tuple[State, str]:
    # 0.12 - 0.02 is not quite 0.10 in binary: an end that is only touched must not depend on that
    rounding = ROUNDING * max((abs(x) for x in (lowest, highest) if math.isfinite(x)), default=0.0)
    low = -math.inf if limit.low is None else limit.low - rounding
    high = math.inf if limit.high is None else limit.high + rounding
    if low <= lowest and highest <= high:
        return State.WITHIN, "the reading with its doubt lies inside the limit"
    if highest < low:
        return State.OUTSIDE, "the reading with its doubt lies below the limit"
    if lowest > high:
        return State.OUTSIDE, "the reading with its doubt lies above the limit"
    return State.NOT_SHOWN, "the doubt of the reading reaches over the end of the limit"
