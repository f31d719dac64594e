r"""Which setting to ask next: the one whose answer is expected to tell most about the two ends.

    information(x) = h(P(right | x)) - sum over ends of belief x h(P(right | x, ends))
    h(p) = -p ln p - (1 - p) ln (1 - p)

The softness is averaged out first: to learn it is worth nothing by itself. Settings a few points apart are looked at
first, then those around the best.
"""

import numpy as np

from tapewright.core.margin.ends import LAPSE, Belief, FloatArray, probability_right

COARSE = 4


def information(belief: Belief, level: float) -> float:
    """Give the information expected from asking at a setting, nats."""
    right, weight = probability_right(belief, level)
    p, w = np.append(right, LAPSE / 2), np.append(weight, belief.nowhere)
    return float(_entropy(np.array([w @ p / w.sum()]))[0] - w @ _entropy(p) / w.sum())


def next_setting(belief: Belief) -> tuple[float, float]:
    """Give the setting to ask and the information expected from it, nats."""
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
