r"""The model: each reading is a slightly curved function of where the parts stand, seen from where they stand now.

    f(z) = c + sum a_k z_k + sum b_kl z_k z_l / 2 + sum e_k [play of knob k not yet taken up]

z_k is the part's way from here in step limits, so a_k is what a whole step does to the reading. Priors (all vague
scales are tried side by side and weighted by how well they explain the trials, so none has to be right):

    c    wide                       the reading as it is
    a_k  0 +/- tau, or as stated    tau from a tenth of the limit's width to a hundred times it
    b_kl 0 +/- kappa tau            curvature: the doubt grows with the square of the way
    e_k  0 +/- a_k p / sqrt 12      a screw that has not been moved yet may stand anywhere in its play

Bayesian linear regression for each combination of scales; intervals by `interval_fit`.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.gauges.trim.interval_fit import FloatArray
from tapewright.gauges.trim.problem import Problem, follow

#: an effect is known when it stands clear of its doubt, or when the doubt of a whole step is small beside the limits
CLEAR, SMALL = 2.5, 0.35


@dataclass(frozen=True, slots=True, eq=False)
class Scales:
    """Lengths that make everything dimensionless.

    Attributes:
        step: shape (K,), the step limit of each knob in its unit.
        play: shape (K,), play of each knob in its unit.
        width: shape (J,), width of each reading's limits in its unit.
        u: shape (J,), stated or assumed standard uncertainty.
        assumed_u: names of readings whose u had to be assumed.
    """

    step: FloatArray
    play: FloatArray
    width: FloatArray
    u: FloatArray
    assumed_u: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class ReadingModel:
    """What is known of one reading: G combinations of scales that explain the trials.

    Attributes:
        weight: shape (G,), sums to 1.
        mean: shape (G, F), weights of the features.
        covariance: shape (G, F, F).
        play_share: shape (G,), share of the stated play each combination takes as real.
        shift: what to add to the features' value to get the reading.
        extra_u: standard deviation a new setting adds by locking and by what is left of the play.
        drawn: shape (G, S, F), draws of the features' weights where intervals were seen, else None.
        drawn_share: shape (G, S), the share of each draw; sums to 1 for each combination.
    """

    weight: FloatArray
    mean: FloatArray
    covariance: FloatArray
    play_share: FloatArray
    shift: float
    extra_u: float
    drawn: FloatArray | None
    drawn_share: FloatArray | None


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """What is known of the machine.

    Attributes:
        problem: what it was learned from.
        scales: see there.
        readings: one model for each reading.
        part: play share -> shape (K,), where the parts stand now.
        unmoved: shape (K,), True for knobs whose play was never taken up.
    """

    problem: Problem
    scales: Scales
    readings: tuple[ReadingModel, ...]
    part: dict[float, FloatArray]
    unmoved: FloatArray

    @property
    def here(self) -> FloatArray:
        """Positions of the knobs now, shape (K,)."""
        return np.array(self.problem.trials[-1].at)


def features(way: FloatArray, play_taken: FloatArray, bend_within: float = np.inf) -> FloatArray:
    """Return the features of parts that went `way` (..., K), in steps; `play_taken` (..., K) is -1 at a first move.

    Curvature stops growing `bend_within` steps away: a look at far settings by the straight line alone.
    """
    K = way.shape[-1]
    straight, way = way, np.clip(way, -bend_within, bend_within)
    upper = np.triu_indices(K)
    squares = 0.5 * way[..., upper[0]] * way[..., upper[1]]
    return np.concatenate([np.ones((*way.shape[:-1], 1)), straight, squares, play_taken], axis=-1)


def way_of(model: Model, moves: FloatArray, share: float) -> tuple[FloatArray, FloatArray]:
    """Return the parts' way in steps and the play taken up, for moves (N, K) in knob units."""
    part = follow(model.part[share], model.here + moves, share * model.scales.play)
    way = (part - model.part[share]) / model.scales.step
    return way, -1.0 * (moves != 0) * model.unmoved


def predict(
    model: Model, j: int, moves: FloatArray, most: int | None = None, bend_within: float = np.inf
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Predict one reading after moves (N, K): weights (G,), means (G, N) and standard deviations (G, N).

    `most` keeps only that many of the likeliest combinations, for searching.
    """
    reading = model.readings[j]
    keep = np.argsort(-reading.weight)[:most]
    mean, sd = np.empty((len(keep), len(moves))), np.empty((len(keep), len(moves)))
    for share in np.unique(reading.play_share[keep]):
        phi = features(*way_of(model, moves, float(share)), bend_within)
        rows = np.flatnonzero(reading.play_share[keep] == share)
        mean[rows] = reading.mean[keep[rows]] @ phi.T + reading.shift
        spread = ((phi @ reading.covariance[keep[rows]]) * phi).sum(-1)
        moved = np.any(moves != 0, axis=1)
        sd[rows] = np.sqrt(np.maximum(spread, 0) + np.where(moved, reading.extra_u, 0.0) ** 2)
    weight = reading.weight[keep]
    return weight / weight.sum(), mean, np.maximum(sd, 1e-12)


def slopes(model: Model, j: int) -> tuple[FloatArray, FloatArray]:
    """Return what a whole step of each knob does to reading j, with its standard uncertainty; both shape (K,)."""
    reading, K = model.readings[j], len(model.problem.knobs)
    mean = reading.mean[:, 1 : K + 1]
    variance = np.einsum("gff->gf", reading.covariance)[:, 1 : K + 1]
    centre = reading.weight @ mean
    return centre, np.sqrt(reading.weight @ (variance + (mean - centre) ** 2))
