r"""What is believed of the two ends of an orientation range, after each answer.

Picture (x = a setting of the scale, P = probability that a test line prints right there):

    P  1 -           .--------------.
       1/2          /:              :\
       0 - --------' :              : '--------
                    low           high            softness s: how far P takes to go from 0.16 to 0.84, halved

    P(right | x) = lapse / 2 + (1 - lapse) F((x - low) / s) F((high - x) / s)      F: normal distribution

Belief is a table over low and high (cells a point apart, some beyond each end of the scale) and kinds of answering (a
few softnesses by a few lapses), and one more state, "right nowhere". Bayes' rule multiplies it by P of the answer.

After adaptive estimation of thresholds by maximum expected information (Kontsevich and Tyler 1999, from memory), with
two thresholds instead of one. A test line of many characters makes an end sharp: one wrong character is enough.

Which setting to ask next: the one whose answer is expected to tell most about the two ends.

    information(x) = h(P(right | x)) - sum over ends of belief x h(P(right | x, ends))
    h(p) = -p ln p - (1 - p) ln (1 - p)

Softness and lapse are averaged out first: to learn them is worth nothing by itself. Settings a few points apart are
looked at first, then those around the best.
"""

from dataclasses import dataclass, replace
from functools import cache, cached_property
from typing import Literal

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

FloatArray = npt.NDArray[np.float64]
Answer = Literal["right", "wrong", "can't say"]

#: how often an answer says nothing of the range (a slip, a hit of dirt), and softness of an end in points, each with
#: its weight beforehand; both are learned. Our choices; the tests of coverage hold them to account.
LAPSES = ((0.005, 0.5), (0.03, 0.3), (0.1, 0.2))
SOFTNESS = ((0.3, 0.45), (0.8, 0.35), (1.6, 0.15), (3.2, 0.05))
KINDS = tuple((lapse, softness, a * b) for lapse, a in LAPSES for softness, b in SOFTNESS)
_LAPSE = np.array([lapse for lapse, _, _ in KINDS])
#: the same where no setting reads right
LAPSE = float(sum(lapse * weight for lapse, weight in LAPSES))
NOWHERE = 0.03
#: cells beyond each end of the scale, in points
BEYOND = 3.0
STEP = 1.0
#: most machines are centred on their scale within this, points; the rest may be anywhere. Common practice, no source.
CENTRE_U, OFF_CENTRE = 15.0, 0.1
#: what is believed less than this is passed over when the next question is chosen
NEGLIGIBLE = 1e-7


@dataclass(frozen=True, slots=True)
class Scale:
    """The scale the setting is read off; 100 points are one unit.

    Attributes:
        low: its lower end.
        high: its upper end.
    """

    low: float
    high: float

    @property
    def levels(self) -> FloatArray:
        """The settings that may be asked, a point apart, shape (n,)."""
        return np.arange(self.low, self.high + STEP / 2, STEP)

    @property
    def ends(self) -> FloatArray:
        """Where an end may lie, shape (m,): the scale and a little beyond."""
        return np.arange(self.low - BEYOND, self.high + BEYOND + STEP / 2, STEP)


@dataclass(frozen=True, eq=False)
class Belief:
    """A table of probabilities.

    Attributes:
        scale: see there.
        table: shape (m, m, k), for low, high and the kinds; sums to 1 with `nowhere`.
        nowhere: probability that no setting reads right.
    """

    scale: Scale
    table: FloatArray
    nowhere: float

    @cached_property
    def likely(self) -> tuple[slice, slice, list[FloatArray], FloatArray]:
        """Return the rows and columns worth looking at, the table there for each kind, and summed over them."""
        pairs = self.table.sum(2)
        rows, columns = _span(pairs.sum(1)), _span(pairs.sum(0))
        parts = [np.ascontiguousarray(self.table[rows, columns, s]) for s in range(self.table.shape[2])]
        return rows, columns, parts, pairs[rows, columns]


def at_first(scale: Scale) -> Belief:
    """Return the belief before any answer: every range equally likely, at least two points wide."""
    ends = scale.ends
    apart = (ends[None, :] - ends[:, None]) >= 2 * STEP
    off = ((ends[None, :] + ends[:, None]) / 2 - (scale.low + scale.high) / 2) / CENTRE_U
    pairs = apart * (np.exp(-(off**2) / 2) + OFF_CENTRE)
    table = pairs[:, :, None] * np.array([w for _, _, w in KINDS])[None, None, :]
    return Belief(scale, table / table.sum() * (1 - NOWHERE), NOWHERE)


def after(belief: Belief, level: float, answer: Answer) -> Belief:
    """Return the belief after an answer at a setting; "can't say" teaches nothing."""
    if answer == "can't say":
        return belief
    rise, fall = _sides(belief.scale, level)
    right = _LAPSE / 2 + (1 - _LAPSE) * rise[:, None, :] * fall[None, :, :]
    likely, none = (right, LAPSE / 2) if answer == "right" else (1 - right, 1 - LAPSE / 2)
    table, nowhere = belief.table * likely, belief.nowhere * none
    whole = float(table.sum() + nowhere)
    return replace(belief, table=table / whole, nowhere=nowhere / whole)


def probability_right(belief: Belief, level: float) -> tuple[FloatArray, FloatArray]:
    """Return P(right) at a setting for each likely pair, kinds averaged out, P and its weight, shape (n,)."""
    rows, columns, table, weight = belief.likely
    rise, fall = _sides(belief.scale, level)
    # few kinds: a product for each is cheaper than one array of all
    right = np.zeros_like(weight)
    for k, (lapse, _, _) in enumerate(KINDS):
        right += table[k] * (lapse / 2 + (1 - lapse) * rise[rows, None, k] * fall[None, columns, k])
    keep = weight > NEGLIGIBLE
    return right[keep] / weight[keep], weight[keep]


@cache
def _sides(scale: Scale, level: float) -> tuple[FloatArray, FloatArray]:
    """Return F((x - low) / s) and F((high - x) / s), both shape (m, k)."""
    softness = np.array([s for _, s, _ in KINDS])
    z = (level - scale.ends[:, None]) / softness[None, :]
    return ndtr(z), ndtr(-z)


def _span(weight: FloatArray) -> slice:
    """Return the stretch that holds all that is not negligible."""
    there = np.flatnonzero(weight > NEGLIGIBLE)
    return slice(int(there[0]), int(there[-1]) + 1) if there.size else slice(0, weight.size)


COARSE = 4


def information(belief: Belief, level: float) -> float:
    """Return the information expected from asking at a setting, nats."""
    right, weight = probability_right(belief, level)
    p, w = np.append(right, LAPSE / 2), np.append(weight, belief.nowhere)
    return float(_entropy(np.array([w @ p / w.sum()]))[0] - w @ _entropy(p) / w.sum())


def next_setting(belief: Belief) -> tuple[float, float]:
    """Return the setting to ask and the information expected from it, nats."""
    levels = belief.scale.levels
    told = {n: information(belief, float(levels[n])) for n in range(0, levels.size, COARSE)}
    for _ in range(2):
        best = max(told, key=lambda n: told[n])
        near = range(max(0, best - COARSE + 1), min(levels.size, best + COARSE))
        told |= {n: information(belief, float(levels[n])) for n in near if n not in told}
    # of settings that tell the same, the one nearest to the middle: it is the plainest
    middle = (belief.scale.low + belief.scale.high) / 2
    best = max(told, key=lambda n: (round(told[n], 9), -abs(levels[n] - middle)))
    return float(levels[best]), told[best]


def _entropy(p: FloatArray) -> FloatArray:
    q = np.clip(p, 1e-12, 1 - 1e-12)
    return np.asarray(-q * np.log(q) - (1 - q) * np.log(1 - q))
