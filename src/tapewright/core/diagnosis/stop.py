"""Stop, you know enough: when one remedy is clearly worth trying, more tests only cost time."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tapewright.core.diagnosis.machine_model import DEPTHS, Cause
from tapewright.core.diagnosis.next_test import Bounds
from tapewright.core.diagnosis.outcomes import AdvisedTest

#: Believed so far, a remedy is tried whatever it takes; believed half as much, only if it is no longer than a test.
SURE_ENOUGH, WORTH_A_TRY = 0.85, 0.5
#: What it pays to try a remedy by, when no test within the bounds tells anything more.
LAST_RESORT = 0.15


@dataclass(frozen=True, slots=True)
class Stop:
    """One remedy to carry out now, and why."""

    cause: Cause
    probability: float
    why: str


def enough_known(
    order: Sequence[Cause],
    belief: Mapping[str, float],
    tests: Sequence[AdvisedTest],
    bounds: Bounds,
    *,
    anything_found: bool,
) -> Stop | None:
    """Say whether to stop, and what to do; None while the next test is worth more.

    Args:
        order: causes, most probable first.
        belief: probability of each.
        tests: the tests still worth doing within the bounds.
        bounds: what the user allows; a remedy that goes deeper is named only when it is nearly sure.
        anything_found: False while nothing was found: then no remedy is worth trying.
    """
    if not anything_found:
        return None
    first, p = order[0], belief[order[0].name]
    if p >= SURE_ENOUGH:
        return Stop(first, p, "it explains the evidence, and further tests would hardly change that")
    quick = [t for t in tests if t.minutes < first.minutes]
    within = DEPTHS.index(first.depth) <= DEPTHS.index(bounds.depth)
    if p >= WORTH_A_TRY and within and tests and not quick:
        return Stop(first, p, "trying it takes no longer than the next test, and tells as much")
    likely = [c for c in order if belief[c.name] >= LAST_RESORT]
    best = max(likely, key=lambda c: belief[c.name] / c.minutes, default=None)
    if not tests and best is not None:
        return Stop(best, belief[best.name], "no test within your limits would tell more")
    return None
