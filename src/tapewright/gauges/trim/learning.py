r"""Learn the sensitivities: Bayesian linear regression on the features of `sensitivity`, seen through gauges.

Every combination of scales (size of a slope, curvature, share of the play, feel) is fitted and weighted by how well
it explains the trials. Curvature and play go with the slope, so a first pass finds how large each slope is, and the
second gives curvature and play their scale from it.
"""

from dataclasses import dataclass, replace
from itertools import product

import numpy as np
import numpy.typing as npt

from tapewright.gauges.trim.interval_fit import Fit, FloatArray, Sites, draws, fit
from tapewright.gauges.trim.problem import Problem, Seen, Target, follow_all
from tapewright.gauges.trim.sensitivity import Model, ReadingModel, Scales, features

Weighted = tuple[tuple[float, float], ...]
#: scales tried, each with its weight beforehand. Our choices; the test of calibration holds them to account.
TAU: Weighted = ((0.1, 0.5), (0.3, 1.0), (1.0, 2.0), (3.0, 2.0), (10.0, 1.0), (30.0, 0.5), (100.0, 0.3))
KAPPA: Weighted = ((0.01, 1.0), (0.05, 1.0), (0.15, 0.5))
PLAY_SHARE: Weighted = ((0.0, 0.2), (0.5, 0.3), (1.0, 0.5))
NUMBER_FEEL: Weighted = ((1.0, 0.9), (2.0, 0.1))
INTERVAL_FEEL: Weighted = ((0.2, 0.5), (0.7, 0.4), (2.0, 0.1))
NEGLIGIBLE = 2e-3  # combinations that weigh less than this part of the best are dropped


ROUGH_PLAY = 0.12  # part of the play that comes out differently each time
DRAWS, SEED = 400, 20240301  # the same trials give the same answer
CROSS = 0.5  # curvature between two knobs, as a part of that of one
FIRST_PASS_KAPPA: Weighted = ((0.08, 1.0),)


def learn(problem: Problem) -> Model:
    """Learn the sensitivities from all trials."""
    scales = scales_of(problem)
    screws = problem.screws
    shares = sorted({share for share, _ in shares_of(scales)})
    parts = {share: follow_all(screws, share * scales.play) for share in shares}
    unmoved = np.array(
        [np.all(np.abs(screws[: n + 1] - screws[0]) == 0, axis=0) for n in range(len(screws))], dtype=float
    )
    readings = tuple(_learn_one(problem, scales, j, parts, unmoved) for j in range(len(problem.targets)))
    return Model(problem, scales, readings, {share: part[-1] for share, part in parts.items()}, unmoved[-1])


def scales_of(problem: Problem) -> Scales:
    """Find step, play, width and doubt where the user stated them, and sensible ones where not."""
    spread = np.ptp(problem.screws, axis=0)
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


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """The combinations of scales: tau in reading units, curvature, share of the play, feel; all shape (G,)."""

    tau: FloatArray
    kappa: FloatArray
    share: FloatArray
    feel: FloatArray
    log_prior: FloatArray


def grid_of(width: float, kappa: Weighted, shares: Weighted, feels: Weighted) -> Grid:
    """Return every combination of scales for limits of this width, with its weight beforehand."""
    combos = list(product(TAU, kappa, shares, feels))
    scale = np.array([[value for value, _ in combo] for combo in combos]).T
    log_prior = np.log([np.prod([weight for _, weight in combo]) for combo in combos])
    return Grid(scale[0] * width, scale[1], scale[2], scale[3], log_prior)


def _learn_one(
    problem: Problem, scales: Scales, j: int, parts: dict[float, FloatArray], unmoved: FloatArray
) -> ReadingModel:
    seen = [trial.read[j] for trial in problem.trials]
    target = problem.targets[j]
    middles = [middle_of(s) for s in seen if s is not None]
    shift = middles[-1] if middles else middle_of(Seen(low=target.low, high=target.high))
    wide = wide_of(scales, j, middles)
    steps = problem.steps_of(j)
    phi_of = {
        s: np.hstack([features((part - part[-1]) / scales.step, unmoved - unmoved[-1]), steps])
        for s, part in parts.items()
    }
    feels = _feels(seen)

    def fitted(grid: Grid, size: FloatArray | None) -> ReadingModel:
        phi = np.stack([phi_of[s] for s in grid.share])
        m0, v0 = prior(problem, scales, j, grid, wide, size)
        unsteady = target.lock_shift if size is None else float(np.hypot(target.lock_shift, _rough(scales, size)))
        sites = _sites(seen, scales.u[j], grid.feel, shift, unsteady)
        # the prior mean is not zero where an expectation was stated: take it off what was seen
        offset = np.einsum("gtf,gf->gt", phi, m0)
        asked = _Asked(phi * np.sqrt(v0)[:, None, :], replace(sites, low=sites.low - offset, high=sites.high - offset))
        return _weighed(grid, asked, m0, np.sqrt(v0), shift, unsteady, slips=steps.shape[1], draw=size is not None)

    first = fitted(grid_of(scales.width[j], FIRST_PASS_KAPPA, shares_of(scales), feels[:1]), None)
    K = len(problem.knobs)
    variance = np.einsum("gff->gf", first.covariance)[:, 1 : K + 1]
    size = np.sqrt(first.weight @ (variance + first.mean[:, 1 : K + 1] ** 2))
    return fitted(grid_of(scales.width[j], KAPPA, shares_of(scales), feels), size)


def _rough(scales: Scales, size: FloatArray) -> float:
    """What is left of the play after its best account, as a standard deviation of the reading."""
    return float(np.linalg.norm(ROUGH_PLAY * scales.play / scales.step * size))


@dataclass(frozen=True, slots=True, eq=False)
class _Asked:
    """What is put to the fit: the design with the priors' widths in it, and what the gauges said."""

    design: FloatArray
    sites: Sites

    def only(self, keep: npt.NDArray[np.intp]) -> "_Asked":
        """Return some of the combinations."""
        sites = self.sites
        low, high = (np.broadcast_to(x, sites.s.shape)[keep] for x in (sites.low, sites.high))
        return _Asked(self.design[keep], Sites(low, high, sites.s[keep], sites.seen))


def _weighed(
    grid: Grid, asked: _Asked, m0: FloatArray, sd0: FloatArray, shift: float, unsteady: float, *, slips: int, draw: bool
) -> ReadingModel:
    """Fit, turn the fits into weights of the features, and drop combinations that explain next to nothing."""
    found = fit(asked.design, asked.sites)
    log_weight = grid.log_prior + found.log_evidence
    weight = np.exp(log_weight - log_weight.max())
    keep = np.flatnonzero(weight > NEGLIGIBLE)
    # what slipped before now says nothing of a further move: its columns are left out of the answer
    F = sd0.shape[1] - slips
    mean = (m0[keep] + sd0[keep] * found.mean[keep])[:, :F]
    covariance = (sd0[keep][:, :, None] * found.covariance[keep] * sd0[keep][:, None, :])[:, :F, :F]
    drawn = share = None
    if draw and np.any(asked.sites.low != asked.sites.high):
        few = Fit(*(getattr(found, name)[keep] for name in Fit.__slots__))
        kept = asked.only(keep)
        unit, share = draws(kept.design, kept.sites, few, DRAWS, np.random.default_rng(SEED))
        drawn = (m0[keep][:, None, :] + sd0[keep][:, None, :] * unit)[:, :, :F]
    probability = weight[keep] / weight[keep].sum()
    return ReadingModel(probability, mean, covariance, grid.share[keep], shift, unsteady, drawn, share)


def prior(
    problem: Problem, scales: Scales, j: int, grid: Grid, wide: float, size: FloatArray | None
) -> tuple[FloatArray, FloatArray]:
    """Return mean and variance of every feature's weight, both shape (G, F); `size` (K,) bounds what bends and play."""
    K, G = len(problem.knobs), len(grid.tau)
    slope_mean = np.zeros((G, K))
    slope_sd = np.repeat(grid.tau[:, None], K, axis=1)
    for e in problem.expectations:
        if e.reading == j:
            slope_mean[:, e.knob] = e.value * scales.step[e.knob]
            slope_sd[:, e.knob] = e.u * scales.step[e.knob]
    scale = np.hypot(slope_mean, slope_sd)
    if size is not None:
        scale = np.minimum(scale, size)
    rows, columns = np.triu_indices(K)
    bend = grid.kappa[:, None] * np.sqrt(scale[:, rows] * scale[:, columns]) * np.where(rows == columns, 1.0, CROSS)
    taken = scale * grid.share[:, None] * scales.play / scales.step / np.sqrt(12)
    slipped = np.full((G, problem.steps_of(j).shape[1]), wide**2)
    variance = np.concatenate([np.full((G, 1), wide**2), slope_sd**2, bend**2, taken**2, slipped], axis=1)
    mean = np.zeros_like(variance)
    mean[:, 1 : K + 1] = slope_mean
    return mean, variance


def _sites(seen: list[Seen | None], u: float, feel: FloatArray, shift: float, unsteady: float) -> Sites:
    rows = [_site(one, u, shift) for one in seen]
    low, high, own = (np.array([row[n] for row in rows]) for n in range(3))
    s = np.hypot(feel[:, None] * own, unsteady)
    return Sites(low, high, s, np.array([one is not None for one in seen]))


def _site(seen: Seen | None, u: float, shift: float) -> tuple[float, float, float]:
    """Return the ends, counted from `shift`, and the doubt of the number or of the feel at the ends."""
    if seen is None:
        return -1.0, 1.0, u
    if seen.value is not None:
        # a doubt of nothing at all is not believed
        return seen.value - shift, seen.value - shift, u if seen.u is None else max(seen.u, u / 100)
    low, high = -np.inf if seen.low is None else seen.low, np.inf if seen.high is None else seen.high
    return low - shift, high - shift, min(u, (high - low) / 2)


def shares_of(scales: Scales) -> tuple[tuple[float, float], ...]:
    """Return the shares of the stated play that are tried."""
    return PLAY_SHARE if scales.play.any() else ((0.0, 1.0),)


def _feels(seen: list[Seen | None]) -> tuple[tuple[float, float], ...]:
    intervals = any(s is not None and s.value is None for s in seen)
    return INTERVAL_FEEL if intervals else NUMBER_FEEL


def wide_of(scales: Scales, j: int, middles: list[float]) -> float:
    """Return how far reading j may lie from where it was seen last, as a standard deviation beforehand."""
    return 10 * float(scales.width[j]) + 3 * (float(np.ptp(middles)) if middles else 0.0)


def middle_of(seen: Seen) -> float:
    """Return what was read, or the middle of the interval; its only end where the other is open."""
    if seen.value is not None:
        return seen.value
    ends = [end for end in (seen.low, seen.high) if end is not None and np.isfinite(end)]
    return float(np.mean(ends)) if ends else 0.0


def _width(target: Target, seen: list[Seen | None]) -> float:
    if target.low is not None and target.high is not None and target.high > target.low:
        return target.high - target.low
    end = target.high if target.low is None else target.low
    away = [abs(middle_of(s) - end) for s in seen if s is not None and end is not None]
    return max([10 * (target.u or 0.0), *away[:1]]) or 1.0
