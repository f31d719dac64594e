r"""The range and the margin that the answers show, with their doubt.

    range = high - low points;  margin = range / 2 per cent of a unit (100 points are a unit);  best setting = middle

Mean and standard deviation over the belief; a cell of the table is a point wide, which adds 1 / sqrt 12.
"""

import math
from dataclasses import dataclass

import numpy as np

from tapewright.margin.ends import STEP, Belief, FloatArray
from tapewright.number import Limit, Reading, Verdict, judge, judge_interval
from tapewright.number.verdict import refuse

#: both ends are known closely, standard uncertainty in points: more is not worth a question
CLOSELY_U = 0.9
#: enough is known when each end is believed so far to lie this near its likeliest place, points. Our choices.
ENOUGH, NEAR = 0.88, 2.0
#: an end is said to lie beyond the scale, or a range to be nowhere, when it is believed so far
PLAIN = 0.8
#: a range narrower than this that nobody has seen is as good as none; points
NARROW = 10.0
WHOLE_UNIT = 100.0


@dataclass(frozen=True, slots=True)
class Range:
    """What the answers show.

    Attributes:
        low, high: the ends, points of the scale; without a value when beyond it, `how` says so.
        points: the range.
        margin: half of it, per cent of a unit.
        best: the middle.
        at_least: the margin is at least this, where an end lies beyond the scale; else None.
        nowhere: probability that no setting reads right.
        sure: the less sure of the two ends is believed so far to lie within 2 points of its likeliest place.
    """

    low: Reading
    high: Reading
    points: Reading
    margin: Reading
    best: Reading
    at_least: float | None
    nowhere: float
    sure: float

    @property
    def found(self) -> bool:
        """Return whether enough is known to stop."""
        return self.nowhere > PLAIN or self.sure >= ENOUGH

    @property
    def closely(self) -> bool:
        """Return whether both ends are known as closely as is worth asking."""
        return self.nowhere > PLAIN or all(e.value is None or (e.u or 0.0) <= CLOSELY_U for e in (self.low, self.high))


def range_of(belief: Belief, asked: int) -> Range:
    """Sum a belief up; `asked` is how many answers it rests on."""
    pairs = belief.table.sum(2) / belief.table.sum()
    ends, scale = belief.scale.ends, belief.scale
    lows, highs = pairs.sum(1), pairs.sum(0)
    below, above = float(lows[ends < scale.low].sum()), float(highs[ends > scale.high].sum())
    low = _end(ends, lows, below, f"at or below {scale.low:g}, where the scale ends", asked)
    high = _end(ends, highs, above, f"at or above {scale.high:g}, where the scale ends", asked)
    nowhere = _nowhere(belief, pairs)
    if nowhere > PLAIN:
        why = "no setting reads right"
        gone, percent = Reading(None, None, "points", asked, why), Reading(None, None, "percent", asked, why)
        return Range(gone, gone, gone, percent, gone, None, nowhere, 0.0)
    width, middle = ends[None, :] - ends[:, None], (ends[None, :] + ends[:, None]) / 2
    points, best = _mean(width, pairs, "points", asked), _mean(middle, pairs, "points", asked)
    margin = points.scaled(WHOLE_UNIT / 200, "percent")
    at_least = None
    if low.value is None or high.value is None:
        sure_low = scale.low if low.value is None else low.value + (low.expanded or 0.0)
        sure_high = scale.high if high.value is None else high.value - (high.expanded or 0.0)
        at_least = max(0.0, (sure_high - sure_low) / 2)
        why = f"at least {at_least:.0f}: an end lies beyond the scale"
        points, margin = Reading(None, None, "points", asked, why), Reading(None, None, "percent", asked, why)
    sure = min(_near(ends, lows, below), _near(ends, highs, above))
    return Range(low, high, points, margin, best, at_least, nowhere, sure)


def judge_margin(found: Range, limit: Limit, speed_proven: bool) -> Verdict:
    """Judge the margin; a range without a proven speed hides what the speed does, so it is refused."""
    if not speed_proven:
        return refuse(limit, "the speed is not proven: a wrong speed eats one end of the range and hides there")
    if found.nowhere > PLAIN:
        return judge_interval(0.0, 0.0, limit)
    if found.at_least is not None:
        return judge_interval(found.at_least, math.inf, limit)
    return judge(found.margin, limit)


def _nowhere(belief: Belief, pairs: FloatArray) -> float:
    """Return the probability that no setting reads right, a range too narrow to have shown itself included."""
    ends = belief.scale.ends
    if (_mean(ends, pairs.sum(1), "points", 0).u or 0.0) < NARROW / 4:
        return belief.nowhere
    narrow = float(belief.table.sum(2)[ends[None, :] - ends[:, None] < NARROW].sum())
    return min(1.0, belief.nowhere + narrow)


def _end(ends: FloatArray, weight: FloatArray, outside: float, where: str, asked: int) -> Reading:
    if outside > PLAIN:
        return Reading(None, None, "points", asked, where)
    return _mean(ends, weight, "points", asked)


def _near(ends: FloatArray, weight: FloatArray, outside: float) -> float:
    """Return how far an end is believed to lie near its likeliest place, or beyond the scale."""
    return max(outside, float(weight[abs(ends - ends[weight.argmax()]) <= NEAR].sum()))


def _mean(values: FloatArray, weight: FloatArray, unit: str, asked: int) -> Reading:
    mean = float(np.sum(values * weight))
    variance = float(np.sum((values - mean) ** 2 * weight))
    return Reading(mean, math.sqrt(variance + STEP**2 / 12), unit, asked)
