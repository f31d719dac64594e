r"""Stop, you know enough: when trying a remedy now is expected to cost no more than testing first.

What it is expected to cost to mend the machine by trying remedies alone, best chance per minute first, over the
fault sets x with weights w:

    cost = sum over remedies i in that order of  minutes_i x (weight of the sets that no remedy before i mends)

A test first costs its own minutes plus that cost after each of its outcomes. Testing is worth it as long as some
test brings the sum below the cost of starting with the remedies now. (Ordering by chance per minute is the optimum
for a single fault and independent remedies, from memory; the look-ahead over one test is ours.)
"""

from collections.abc import Iterable, Sequence

import numpy as np

from tapewright.advisor.document import Stop
from tapewright.advisor.fault_sets import FaultSets
from tapewright.advisor.machine_model import DEPTHS, Cause, Model
from tapewright.advisor.network import FloatArray
from tapewright.advisor.next_test import Bounds, Weighed
from tapewright.advisor.places import name_of

#: A remedy believed less than this is not "clearly worth trying" while a test is left; and what is, when none is.
WORTH_A_TRY, LAST_RESORT = 0.25, 0.03
#: Minutes it costs when no remedy in the list helps (common practice, no source).
NO_REMEDY_MINUTES = 240.0
#: Remedies and findings looked at: the rest hardly count.
MOST_REMEDIES, MOST_FINDINGS = 12, 4


def enough_known(
    model: Model,
    belief: dict[str, float],
    sets: FaultSets,
    stay_away: FloatArray,
    tests: Sequence[Weighed],
    bounds: Bounds,
    tried: Iterable[str],
) -> Stop | None:
    """Return whether to stop, and what to do; None while a test first is expected to save minutes.

    Args:
        model: the machine.
        belief: probability of each cause.
        sets: fault sets that stand for the posterior.
        stay_away: shape (k, m), chance that each finding stays away in each set.
        tests: the tests worth doing within the bounds, best first.
        bounds: what the user allows.
        tried: causes whose remedy was done in vain: not proposed again.
    """
    left = [c for c in model.causes.values() if c.name not in set(tried) and belief[c.name] >= LAST_RESORT]
    left.sort(key=lambda cause: -belief[cause.name])
    if not left:
        return None
    remedies = _Remedies(model, left[:MOST_REMEDIES], sets)
    first = left[remedies.order(sets.weight)[0]]
    p = belief[first.name]
    if not tests:
        return _stop(first, p, "no test within your limits would tell more")
    now = remedies.cost(sets.weight)
    best = min(_with_test(test, remedies, sets.weight, stay_away) for test in tests)
    deep = DEPTHS.index(first.depth) > DEPTHS.index(bounds.depth)
    if now <= best and p >= WORTH_A_TRY:
        why = "no test would save as many minutes as it takes"
        over = ["goes deeper"] if deep else []
        over += ["takes longer"] if first.minutes > bounds.minutes else []
        return _stop(first, p, why + (f" (it {' and '.join(over)} than the limit you set)" if over else ""))
    return None


def _stop(cause: Cause, p: float, why: str) -> Stop:
    return Stop(
        cause=name_of(cause.name),
        says=cause.says,
        probability=p,
        why=why,
        do=cause.do,
        minutes=cause.minutes,
        cautions=cause.cautions,
    )


class _Remedies:
    """The remedies worth trying, and which fault sets each would mend."""

    def __init__(self, model: Model, causes: Sequence[Cause], sets: FaultSets) -> None:
        place = {name: number for number, name in enumerate(model.causes)}
        self.minutes = np.array([cause.minutes for cause in causes])
        self.mends = sets.present[:, [place[cause.name] for cause in causes]].astype(np.float64)

    def order(self, weight: FloatArray) -> list[int]:
        """Best chance per minute first."""
        return [int(n) for n in np.argsort(-(weight @ self.mends) / self.minutes, kind="stable")]

    def cost(self, weight: FloatArray) -> float:
        """Expected minutes of trying them all in that order until one mends the machine."""
        total = float(weight.sum())
        if total <= 0:
            return 0.0
        order = self.order(weight)
        unmended = np.cumprod(1.0 - self.mends[:, order], axis=1)
        reached = np.concatenate([[total], weight @ unmended])
        return float(self.minutes[order] @ reached[:-1] + NO_REMEDY_MINUTES * reached[-1]) / total


def _with_test(test: Weighed, remedies: _Remedies, weight: FloatArray, stay_away: FloatArray) -> float:
    """Expected minutes of this test and then the remedies, over all outcomes of its most telling findings."""
    outcomes = [weight]
    for finding in test.findings[:MOST_FINDINGS]:
        absent = stay_away[:, finding]
        outcomes = [part for w in outcomes for part in (w * absent, w * (1.0 - absent))]
    return test.test.minutes + sum(float(w.sum()) * remedies.cost(w) for w in outcomes)
