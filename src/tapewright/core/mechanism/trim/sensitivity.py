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

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from tapewright.core.mechanism.trim.interval_fit import FloatArray, Sites, fit
from tapewright.core.mechanism.trim.play import follow, follow_all
from tapewright.core.mechanism.trim.problem import Problem, Seen, Target

#: scales tried, each with its weight beforehand. Our choices; the test of calibration holds them to account.
TAU = ((0.1, 0.5), (0.3, 1.0), (1.0, 2.0), (3.0, 2.0), (10.0, 1.0), (30.0, 0.5), (100.0, 0.3))
KAPPA = ((0.01, 1.0), (0.08, 1.0), (0.25, 0.5))
PLAY_SHARE = ((0.0, 0.25), (0.5, 0.25), (1.0, 0.5))
NUMBER_FEEL = ((1.0, 0.8), (2.0, 0.2))
INTERVAL_FEEL = ((0.35, 0.4), (1.0, 0.5), (2.0, 0.1))
NEGLIGIBLE = 2e-3  # combinations that weigh less than this part of the best are dropped


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
        extra_u: shape of a number; what a new setting adds by locking.
    """

    weight: FloatArray
    mean: FloatArray
    covariance: FloatArray
    play_share: FloatArray
    shift: float
    extra_u: float


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


def learn(problem: Problem) -> Model:
    """Learn the sensitivities from all trials."""
    scales = scales_of(problem)
    screws = np.array([t.at for t in problem.trials], dtype=float)
    shares = sorted({share for share, _ in _shares(scales)})
    parts = {share: follow_all(screws, share * scales.play) for share in shares}
    unmoved = np.array(
        [np.all(np.abs(screws[: n + 1] - screws[0]) == 0, axis=0) for n in range(len(screws))], dtype=float
    )
    readings = tuple(_learn_one(problem, scales, j, parts, unmoved) for j in range(len(problem.targets)))
    return Model(problem, scales, readings, {share: part[-1] for share, part in parts.items()}, unmoved[-1])


def scales_of(problem: Problem) -> Scales:
    """Find step, play, width and doubt where the user stated them, and sensible ones where not."""
    positions = np.array([t.at for t in problem.trials], dtype=float)
    spread = np.ptp(positions, axis=0)
    step = [
        k.step_limit
        or ((k.high - k.low) / 4 if k.high is not None and k.low is not None and k.high > k.low else 0)
        or float(spread[n])
        or 1.0
        for n, k in enumerate(problem.knobs)
    ]
    width = np.array([_width(t, [trial.read[j] for trial in problem.trials]) for j, t in enumerate(problem.targets)])
    u = [t.u if t.u else w / 20 for t, w in zip(problem.targets, width, strict=True)]
    plain = [
        any(s is not None and s.value is not None and s.u is None for s in (t.read[j] for t in problem.trials))
        for j in range(len(problem.targets))
    ]
    assumed = tuple(t.name for t, p in zip(problem.targets, plain, strict=True) if not t.u and p)
    return Scales(np.array(step), np.array([k.play for k in problem.knobs]), width, np.array(u), assumed)


def features(way: FloatArray, play_taken: FloatArray) -> FloatArray:
    """Give the features of parts that went `way` (..., K), in steps; `play_taken` (..., K) is -1 at a first move."""
    K = way.shape[-1]
    upper = np.triu_indices(K)
    squares = 0.5 * way[..., upper[0]] * way[..., upper[1]]
    return np.concatenate([np.ones((*way.shape[:-1], 1)), way, squares, play_taken], axis=-1)


def way_of(model: Model, moves: FloatArray, share: float) -> tuple[FloatArray, FloatArray]:
    """Give the parts' way in steps and the play taken up, for moves (N, K) in knob units."""
    part = follow(model.part[share], model.here + moves, share * model.scales.play)
    way = (part - model.part[share]) / model.scales.step
    return way, -1.0 * (moves != 0) * model.unmoved


def predict(
    model: Model, j: int, moves: FloatArray, most: int | None = None
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Predict one reading after moves (N, K): weights (G,), means (G, N) and standard deviations (G, N).

    `most` keeps only that many of the likeliest combinations, for searching.
    """
    reading = model.readings[j]
    keep = np.argsort(-reading.weight)[:most]
    mean, sd = np.empty((len(keep), len(moves))), np.empty((len(keep), len(moves)))
    for share in np.unique(reading.play_share[keep]):
        phi = features(*way_of(model, moves, float(share)))
        rows = np.flatnonzero(reading.play_share[keep] == share)
        mean[rows] = reading.mean[keep[rows]] @ phi.T + reading.shift
        spread = np.einsum("nf,gfh,nh->gn", phi, reading.covariance[keep[rows]], phi, optimize=True)
        moved = np.any(moves != 0, axis=1)
        sd[rows] = np.sqrt(np.maximum(spread, 0) + np.where(moved, reading.extra_u, 0.0) ** 2)
    weight = reading.weight[keep]
    return weight / weight.sum(), mean, np.maximum(sd, 1e-12)


def slopes(model: Model, j: int) -> tuple[FloatArray, FloatArray]:
    """Give what a whole step of each knob does to reading j, with its standard uncertainty; both shape (K,)."""
    reading, K = model.readings[j], len(model.problem.knobs)
    mean = reading.mean[:, 1 : K + 1]
    variance = np.einsum("gff->gf", reading.covariance)[:, 1 : K + 1]
    centre = reading.weight @ mean
    return centre, np.sqrt(reading.weight @ (variance + (mean - centre) ** 2))


def _learn_one(
    problem: Problem, scales: Scales, j: int, parts: dict[float, FloatArray], unmoved: FloatArray
) -> ReadingModel:
    seen = [trial.read[j] for trial in problem.trials]
    target = problem.targets[j]
    middles = [_middle(s) for s in seen if s is not None]
    shift = middles[-1] if middles else ((target.low or 0) + (target.high or target.low or 0)) / 2
    combos = list(product(TAU, KAPPA, _shares(scales), _feels(seen)))
    prior = np.array([np.prod([weight for _, weight in combo]) for combo in combos])
    tau, kappa, share, feel = (np.array([combo[n][0] for combo in combos]) for n in range(4))
    phi_of = {s: features((part - part[-1]) / scales.step, unmoved - unmoved[-1]) for s, part in parts.items()}
    phi = np.stack([phi_of[s] for s in share])
    m0, v0 = _prior(problem, scales, j, tau * scales.width[j], kappa, share, middles)
    offset = np.einsum("gtf,gf->gt", phi, m0)
    K = np.einsum("gtf,gf,guf->gtu", phi, v0, phi, optimize=True)
    sites = _sites(seen, scales.u[j], feel, shift, target.lock_shift)
    # the prior mean is not zero where an expectation was stated: take it off what was seen
    found = fit(K, replace(sites, low=sites.low - offset, high=sites.high - offset))
    mean = m0 + v0 * np.einsum("gtf,gt->gf", phi, found.r)
    pull = np.einsum("gf,gtf->gft", v0, phi)
    covariance = np.einsum("gf,fh->gfh", v0, np.eye(v0.shape[1])) - pull @ found.W @ np.swapaxes(pull, 1, 2)
    log_weight = np.log(prior) + found.log_evidence
    weight = np.exp(log_weight - log_weight.max())
    keep = weight > NEGLIGIBLE
    weight = weight[keep] / weight[keep].sum()
    return ReadingModel(weight, mean[keep], covariance[keep], share[keep], shift, target.lock_shift)


def _prior(
    problem: Problem,
    scales: Scales,
    j: int,
    tau: FloatArray,
    kappa: FloatArray,
    share: FloatArray,
    middles: list[float],
) -> tuple[FloatArray, FloatArray]:
    """Give mean and variance of every feature's weight, both shape (G, F)."""
    K = len(problem.knobs)
    pairs = K * (K + 1) // 2
    wide = 10 * scales.width[j] + 3 * (np.ptp(middles) if middles else 0.0)
    slope_mean = np.zeros((len(tau), K))
    slope_sd = np.repeat(tau[:, None], K, axis=1)
    size = slope_sd.copy()
    for e in problem.expectations:
        if e.reading == j:
            slope_mean[:, e.knob] = e.value * scales.step[e.knob]
            slope_sd[:, e.knob] = e.u * scales.step[e.knob]
            size[:, e.knob] = np.hypot(slope_mean[:, e.knob], slope_sd[:, e.knob])
    rows, columns = np.triu_indices(K)
    bend = kappa[:, None] * np.sqrt(size[:, rows] * size[:, columns])
    taken = size * share[:, None] * scales.play / scales.step / np.sqrt(12)
    variance = np.concatenate([np.full((len(tau), 1), wide**2), slope_sd**2, bend**2, taken**2], axis=1)
    mean = np.concatenate([np.zeros((len(tau), 1)), slope_mean, np.zeros((len(tau), pairs + K))], axis=1)
    return mean, variance


def _sites(seen: list[Seen | None], u: float, feel: FloatArray, shift: float, lock_shift: float) -> Sites:
    rows = [_site(one, u, shift) for one in seen]
    low, high, own = (np.array([row[n] for row in rows]) for n in range(3))
    s = np.hypot(feel[:, None] * own, lock_shift)
    return Sites(low, high, s, np.array([one is not None for one in seen]))


def _site(seen: Seen | None, u: float, shift: float) -> tuple[float, float, float]:
    """Give the ends, counted from `shift`, and the doubt of the number or of the feel at the ends."""
    if seen is None:
        return -1.0, 1.0, u
    if seen.value is not None:
        # a doubt of nothing at all is not believed
        return seen.value - shift, seen.value - shift, u if seen.u is None else max(seen.u, u / 100)
    low, high = -np.inf if seen.low is None else seen.low, np.inf if seen.high is None else seen.high
    return low - shift, high - shift, min(u, (high - low) / 2)


def _shares(scales: Scales) -> tuple[tuple[float, float], ...]:
    return PLAY_SHARE if scales.play.any() else ((0.0, 1.0),)


def _feels(seen: list[Seen | None]) -> tuple[tuple[float, float], ...]:
    intervals = any(s is not None and s.value is None for s in seen)
    return INTERVAL_FEEL if intervals else NUMBER_FEEL


def _middle(seen: Seen) -> float:
    if seen.value is not None:
        return seen.value
    ends = [end for end in (seen.low, seen.high) if end is not None and np.isfinite(end)]
    return float(np.mean(ends)) if ends else 0.0


def _width(target: Target, seen: list[Seen | None]) -> float:
    if target.low is not None and target.high is not None and target.high > target.low:
        return target.high - target.low
    end = target.high if target.low is None else target.low
    away = [abs(_middle(s) - end) for s in seen if s is not None and end is not None]
    return max([10 * (target.u or 0.0), *away[:1]]) or 1.0
