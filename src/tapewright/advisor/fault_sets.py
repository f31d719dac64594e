r"""Fault sets that stand for the whole posterior: evenly spaced points of the exact distribution, no chance involved.

Every fault set owns a piece of the interval 0 to 1 as long as its exact probability; the sets are laid out in
the order of the sums. Taking the middle of N equal pieces and reading off which set lies there

    0 |---- set A ----|-- set B --|- C -|...| 1
        x     x     x     x     x    x            N points

gives each set in proportion to its probability. They serve to weigh tests; beliefs are never taken from them.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.advisor.network import BoolArray, FloatArray, IntArray, Likelihoods, Network
from tapewright.advisor.workplan import Move, Workplan, closings, forward, make_workplan, opened, push

DEFAULT_POINTS = 400


@dataclass(frozen=True, slots=True, eq=False)
class FaultSets:
    """Fault sets with their weights.

    Attributes:
        present: shape (k, n), which causes are present in each set.
        weight: shape (k,), adds up to 1.
        stay_away: shape (m,), chance that a finding stays away as far as leak and the causes that touch none of
            the evidence go; those causes are not told apart by the sets.
    """

    present: BoolArray
    weight: FloatArray
    stay_away: FloatArray


def representative(network: Network, evidence: Likelihoods, *, points: int = DEFAULT_POINTS) -> FaultSets:
    """Return the fault sets at `points` evenly spaced places of the posterior.

    Raises:
        TooEntangledError: when more findings hang together than can be summed.
    """
    plan = make_workplan(network, evidence)
    walk = _Walk(points, len(network.prior))
    starts = [np.ones(())]
    for _, moves in plan.stations:
        starts.append(forward(starts[-1], moves, plan)[-1])
    for (_, moves), start in zip(reversed(plan.stations), reversed(starts[:-1]), strict=True):
        for move, before in zip(reversed(moves), reversed(forward(start, moves, plan)[:-1]), strict=True):
            _step_back(walk, move, before, plan)
    alone = plan.on[plan.apart] / (plan.on[plan.apart] + plan.off[plan.apart])
    stay_away = 1.0 - network.leak
    if plan.stations:
        stay_away = stay_away * np.prod(1.0 - alone[:, None] * network.strength[plan.apart], axis=0)
    else:
        for cause, p in zip(plan.apart, alone, strict=True):
            walk.present[:, cause] = walk.choose(np.full(points, p))
    sets, counts = np.unique(walk.present, axis=0, return_counts=True)
    return FaultSets(sets.astype(np.bool_), counts / points, stay_away)


class _Walk:
    """All points at once, walking back through the sums."""

    def __init__(self, points: int, causes: int) -> None:
        self.where: FloatArray = (np.arange(points) + 0.5) / points
        self.entry: IntArray = np.zeros(points, dtype=np.int64)
        self.present: BoolArray = np.zeros((points, causes), dtype=np.bool_)

    def choose(self, chance: FloatArray, among: BoolArray | None = None) -> BoolArray:
        """Say for each point whether it lies in the first part, `chance` long; stretch that part to 0 to 1."""
        first: BoolArray = self.where < chance
        with np.errstate(divide="ignore", invalid="ignore"):
            stretched = np.where(first, self.where / chance, (self.where - chance) / (1.0 - chance))
        if among is not None:
            first &= among
            stretched = np.where(among, stretched, self.where)
        self.where = np.clip(stretched, 0.0, 1.0)
        return first


def _step_back(walk: _Walk, move: Move, before: FloatArray, plan: Workplan) -> None:
    wide = opened(before, move)
    partial = [plan.on[move.cause] * wide]
    for axis, strength in zip(move.axes, move.strengths, strict=True):
        partial.append(partial[-1].copy())
        push(partial[-1], (axis,), (strength,))
    mixed = plan.off[move.cause] * wide + partial[-1]
    tables = list(closings(mixed, move, plan))[:-1]
    for (finding, axis), table in zip(reversed(move.closes), reversed(tables), strict=True):
        flat, bit = table.ravel(), table.ndim - 1 - axis
        low = walk.entry & ((1 << bit) - 1)
        unset = ((walk.entry >> bit) << (bit + 1)) | low
        reached = plan.if_reached[finding] * flat[unset | (1 << bit)]
        not_reached = plan.if_not[finding] * flat[unset]
        walk.entry = unset | (walk.choose(_share(reached, not_reached)).astype(np.int64) << bit)
    flat_on, flat_off = partial[-1].ravel(), (plan.off[move.cause] * wide).ravel()
    on = walk.choose(_share(flat_on[walk.entry], flat_off[walk.entry]))
    walk.present[:, move.cause] = on
    for axis, strength, table in zip(
        reversed(move.axes), reversed(move.strengths), reversed(partial[:-1]), strict=True
    ):
        flat, mask = table.ravel(), 1 << (table.ndim - 1 - axis)
        pushed = on & ((walk.entry & mask) != 0)
        was_unset = strength * flat[walk.entry & ~mask]
        just_now = walk.choose(_share(was_unset, flat[walk.entry]), among=pushed)
        walk.entry = np.where(just_now, walk.entry & ~mask, walk.entry)


def _share(one: FloatArray, other: FloatArray) -> FloatArray:
    total = one + other
    return np.where(total > 0, one / np.where(total > 0, total, 1.0), 0.0)
