r"""Find the move that most probably brings every reading inside.

log P(all inside) = sum over readings of log P(low <= reading <= high); smooth, with one hill or few.
Cross-entropy search (Rubinstein and Kroese 2004): throw moves around the best so far, keep the best few, narrow.
The generator is seeded, so the same trials give the same advice.
"""

import numpy as np

from tapewright.core.mechanism.trim.interval_fit import FloatArray, log_between
from tapewright.core.mechanism.trim.sensitivity import Model, predict, slopes

THROWS, KEPT, ROUNDS = 96, 12, 14
SEARCH_COMBINATIONS = 8


def log_inside(
    model: Model, moves: FloatArray, most: int | None = None, only: tuple[int, ...] | None = None
) -> FloatArray:
    """Log probability that each of the moves (N, K) lands every reading (or `only` those) inside; shape (N,)."""
    total = np.zeros(len(moves))
    for j in range(len(model.problem.targets)) if only is None else only:
        total += log_inside_one(model, j, moves, most)
    return total


def log_inside_one(model: Model, j: int, moves: FloatArray, most: int | None = None) -> FloatArray:
    """The same for one reading."""
    target = model.problem.targets[j]
    weight, mean, sd = predict(model, j, moves, most)
    low = -np.inf if target.low is None else target.low
    high = np.inf if target.high is None else target.high
    each = log_between((low - mean) / sd, (high - mean) / sd) + np.log(weight)[:, None]
    top = each.max(0)
    return np.asarray(top + np.log(np.exp(each - top).sum(0)))


def room(model: Model, steps: float) -> tuple[FloatArray, FloatArray]:
    """Give the least and the greatest move of each knob within `steps` step limits and the knob's own ends."""
    reach = model.scales.step * steps
    low = np.array([-np.inf if k.low is None else k.low for k in model.problem.knobs]) - model.here
    high = np.array([np.inf if k.high is None else k.high for k in model.problem.knobs]) - model.here
    return np.minimum(np.maximum(-reach, low), 0.0), np.maximum(np.minimum(reach, high), 0.0)


def best_move(
    model: Model, steps: float = 1.0, only: tuple[int, ...] | None = None, start: FloatArray | None = None
) -> tuple[FloatArray, float]:
    """Give the best move (K,) in reach and its log probability of landing inside."""
    least, most = room(model, steps)
    rng = np.random.default_rng(20240229)
    K = len(model.problem.knobs)
    centre = np.clip(aimed_move(model, steps, only) if start is None else start, least, most)
    best, best_log = np.zeros(K), float(log_inside(model, np.zeros((1, K)), SEARCH_COMBINATIONS, only)[0])
    spread = np.where(most > least, (most - least) / 4, 0.0)
    for n in range(ROUNDS):
        throws = np.clip(centre + spread * rng.standard_normal((THROWS, K)), least, most)
        throws[0], throws[1] = centre, best
        if n == 0:
            throws[2 : 2 + K] = np.diag(most)
            throws[2 + K : 2 + 2 * K] = np.diag(least)
        logs = log_inside(model, throws, SEARCH_COMBINATIONS, only)
        order = np.argsort(-logs)[:KEPT]
        if logs[order[0]] > best_log:
            best, best_log = throws[order[0]], float(logs[order[0]])
        centre = throws[order].mean(0)
        spread = np.maximum(throws[order].std(0) * 1.1, (most - least) * 2e-4)
    return best, float(log_inside(model, best[None], None, only)[0])


def aimed_move(model: Model, steps: float, only: tuple[int, ...] | None = None) -> FloatArray:
    """A first guess: damped least squares of the likeliest straight-line model to the middle of every limit."""
    rows = range(len(model.problem.targets)) if only is None else only
    K = len(model.problem.knobs)
    a, gap = np.zeros((len(rows), K)), np.zeros(len(rows))
    for n, j in enumerate(rows):
        target, width = model.problem.targets[j], model.scales.width[j]
        centre, doubt = slopes(model, j)
        a[n] = np.where(np.abs(centre) > doubt, centre, 0.0) / width
        _, now, _ = predict(model, j, np.zeros((1, K)), 1)
        gap[n] = (_wanted(target.low, target.high, float(now[0, 0]), width) - now[0, 0]) / width
    way = np.linalg.solve(a.T @ a + 1e-6 * np.eye(K), a.T @ gap)
    return np.asarray(np.clip(way, -steps, steps) * model.scales.step)


def _wanted(low: float | None, high: float | None, now: float, width: float) -> float:
    """Middle of the limits; with one end only, where it is or a tenth of its scale inside."""
    if low is not None and high is not None:
        return (low + high) / 2
    if low is not None:
        return max(now, low + width / 10)
    assert high is not None
    return min(now, high - width / 10)
