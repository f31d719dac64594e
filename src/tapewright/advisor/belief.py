r"""Exact belief in every cause and every station, over all fault sets: no sampling, no cut at two faults.

Forwards the table of open findings is carried through all causes; backwards the transposed sums are carried
to meet it. Where they meet, the belief in one cause is the part of the sum in which that cause is present:

    forwards  F ----c1----c2----[ c3 ]----c4----> P(evidence)
    backwards P <---c1----c2----[ c3 ]----c4----- G
                            P(c3 present, evidence) = sum of F * on * pull(G)

The two ends of a station's causes give the belief that the whole station is free of fault, in the same pass.
Cost: (number of causes) x 2^(open findings), all sums of positive numbers.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.advisor.network import FloatArray, Likelihoods, Network
from tapewright.advisor.workplan import (
    Move,
    Workplan,
    closings,
    forward,
    make_workplan,
    mixed,
    opened,
    pull,
    reopen_axis,
)

#: Up to this many open findings all tables are kept (50 MB); beyond, each station's are computed again.
KEEP_UP_TO = 16


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """What the evidence makes of every cause.

    Attributes:
        cause: shape (n,), probability that the cause is present.
        station: shape (stations,), probability that at least one cause of that station is present.
        unexplained: shape (m,), for a finding with evidence: probability that it is there and no listed cause
            brought it about; NaN for the others.
        log_evidence: natural logarithm of the probability of the evidence.
    """

    cause: FloatArray
    station: FloatArray
    unexplained: FloatArray
    log_evidence: float


def infer(network: Network, evidence: Likelihoods) -> Belief:
    """Compute the belief.

    Raises:
        TooEntangledError: when more findings hang together than can be summed.
        ValueError: when the evidence cannot have happened in this network.
    """
    plan = make_workplan(network, evidence)
    starts, kept = [np.ones(())], []
    for _, moves in plan.stations:
        tables = forward(starts[-1], moves, plan)
        starts.append(tables[-1])
        kept.append(tables if plan.width <= KEEP_UP_TO else None)
    total = float(starts[-1])
    if total <= 0:
        raise ValueError("no fault set can bring about this evidence")
    n, m = network.strength.shape
    cause, unexplained, free = np.zeros(n), np.full(m, np.nan), np.ones(int(network.station.max(initial=-1)) + 1)
    onward = np.ones(())
    for (station, moves), start in zip(reversed(plan.stations), reversed(starts[:-1]), strict=True):
        none = forward(start, moves, plan, absent=True)[-1]
        free[station] = float(np.sum(none * onward)) / total
        tables = kept.pop() or forward(start, moves, plan)
        onward = _backward(tables, moves, plan, onward, cause, unexplained)
    cause /= total
    unexplained /= total
    alone = _stand_alone(plan, cause, unexplained)
    np.multiply.at(free, network.station[plan.apart], 1.0 - cause[plan.apart])
    return Belief(np.clip(cause, 0.0, 1.0), np.clip(1.0 - free, 0.0, 1.0), unexplained, float(np.log(total)) + alone)


def _backward(
    before_each: list[FloatArray],
    moves: tuple[Move, ...],
    plan: Workplan,
    onward: FloatArray,
    cause: FloatArray,
    left: FloatArray,
) -> FloatArray:
    """Carry the sums of one station backwards; note cause and unexplained sums on the way."""
    for move, before in zip(reversed(moves), reversed(before_each[:-1]), strict=True):
        wide = opened(before, move)
        tables = list(closings(mixed(wide, move, plan), move, plan))[:-1] if move.closes else []
        for (finding, axis), table in zip(reversed(move.closes), reversed(tables), strict=True):
            not_reached = np.take(table, 0, axis)
            left[finding] = plan.leak_only[finding] * float(np.sum(not_reached * onward))
            onward = reopen_axis(onward, axis, float(plan.if_reached[finding]), float(plan.if_not[finding]))
        present = plan.on[move.cause] * onward
        pull(present, move.axes, move.strengths)
        cause[move.cause] = float(np.sum(wide * present))
        onward = plan.off[move.cause] * onward + present
        for _ in range(move.opens):
            onward = onward[0]
    return onward


def _stand_alone(plan: Workplan, cause: FloatArray, unexplained: FloatArray) -> float:
    """Settle causes and findings that touch nothing open; give their part of the logarithm of the evidence."""
    whole = plan.on[plan.apart] + plan.off[plan.apart]
    chance = plan.if_not[plan.apart_findings]
    if np.any(whole <= 0) or np.any(chance <= 0):
        raise ValueError("no fault set can bring about this evidence")
    cause[plan.apart] = plan.on[plan.apart] / whole
    unexplained[plan.apart_findings] = plan.leak_only[plan.apart_findings] / chance
    return float(np.sum(np.log(whole)) + np.sum(np.log(chance)) + plan.log_constant)
