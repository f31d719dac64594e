r"""Find the move that most probably brings every reading inside.

log P(all inside) = sum over readings of log P(low <= reading <= high); smooth, with one hill or few.
Cross-entropy search (Rubinstein and Kroese 2004): throw moves around the best so far, keep the best few, narrow.
The generator is seeded, so the same trials give the same advice.
"""

from collections.abc import Callable

import numpy as np
from scipy.special import ndtr

from tapewright.gauges.trim.interval_fit import FloatArray, log_between
from tapewright.gauges.trim.sensitivity import Model, features, predict, slopes, way_of

THROWS, KEPT, ROUNDS = 96, 12, 14
SEARCH_COMBINATIONS = 8
LONG_ODDS = np.log(0.05)
BEND_WITHIN = 1.5  # steps; what lies farther is looked at by the straight line
DAMPING = 1e-2  # in widths per step, squared: directions that move less are left alone


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


def room(model: Model, steps: float | FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the least and the greatest move of each knob within `steps` step limits and the knob's own ends."""
    reach = model.scales.step * steps
    low = np.array([-np.inf if k.low is None else k.low for k in model.problem.knobs]) - model.here
    high = np.array([np.inf if k.high is None else k.high for k in model.problem.knobs]) - model.here
    return np.minimum(np.maximum(-reach, low), 0.0), np.maximum(np.minimum(reach, high), 0.0)


def odds_inside(model: Model, move: FloatArray) -> float:
    """Probability that one move (K,) lands every reading inside, with the sharp edges of the intervals."""
    product = 1.0
    for j in range(len(model.problem.targets)):
        product *= odds_one(model, j, move)
    return min(1.0, product)


def odds_one(model: Model, j: int, move: FloatArray) -> float:
    """Probability that one move (K,) lands reading j inside, with the sharp edges of the intervals."""
    reading, target = model.readings[j], model.problem.targets[j]
    if reading.drawn is None or reading.drawn_share is None:
        return float(np.exp(log_inside_one(model, j, move[None])[0]))
    u = max(reading.extra_u if move.any() else 0.0, 1e-12)
    total = 0.0
    for g, weight in enumerate(reading.weight):
        way, taken = way_of(model, move[None], float(reading.play_share[g]))
        value = reading.drawn[g] @ features(way, taken)[0] + reading.shift
        below = 0.0 if target.low is None else ndtr((target.low - value) / u)
        above = 0.0 if target.high is None else ndtr((value - target.high) / u)
        total += weight * float(reading.drawn_share[g] @ np.maximum(1 - below - above, 0.0))
    return total


def best_move(model: Model, steps: float | FloatArray = 1.0) -> tuple[FloatArray, float]:
    """Return the best move (K,) in reach and its log probability of landing every reading inside."""
    best, _ = _climb(model, lambda moves: log_inside(model, moves, SEARCH_COMBINATIONS), steps, None)
    if log_inside(model, best[None])[0] < LONG_ODDS:
        # far off, the likeliest landing is the wildest throw: its doubt is the greatest. Go for nearness instead
        best, _ = _climb(model, lambda moves: -_expected_distance(model, moves), steps, None)
    return best, float(log_inside(model, best[None])[0])


def _expected_distance(model: Model, moves: FloatArray) -> FloatArray:
    """Expected squared distance outside the limits after moves (N, K), in widths, summed over readings; shape (N,)."""
    total = np.zeros(len(moves))
    for j, target in enumerate(model.problem.targets):
        weight, mean, sd = predict(model, j, moves, SEARCH_COMBINATIONS)
        middle = _wanted(target.low, target.high, mean, model.scales.width[j])
        total += weight @ ((mean - middle) ** 2 + sd**2) / model.scales.width[j] ** 2
    return total


def least_distance(
    model: Model, steps: float | FloatArray, only: tuple[int, ...] | None = None
) -> tuple[FloatArray, float]:
    """Return the move that gets nearest to having all readings (or `only` those) inside, and how near.

    The distance of one reading is how far its prediction lies outside, in its own standard deviations; that of a
    move is its worst reading's. Above about three no setting in reach is to be hoped for.
    """
    best, worst = _climb(model, lambda moves: -distances(model, moves, only).max(0), steps, only)
    return best, -worst


def distances(model: Model, moves: FloatArray, only: tuple[int, ...] | None = None) -> FloatArray:
    """How far outside each reading is predicted after moves (N, K), in standard deviations; shape (J or less, N)."""
    rows = []
    for j in range(len(model.problem.targets)) if only is None else only:
        target = model.problem.targets[j]
        weight, mean, sd = predict(model, j, moves, SEARCH_COMBINATIONS, BEND_WITHIN)
        centre = weight @ mean
        spread = np.sqrt(weight @ (sd**2 + (mean - centre) ** 2))
        below = -np.inf if target.low is None else target.low - centre
        above = -np.inf if target.high is None else centre - target.high
        rows.append(np.maximum(np.maximum(below, above), 0.0) / spread)
    return np.array(rows)


def _climb(
    model: Model, height: Callable[[FloatArray], FloatArray], steps: float | FloatArray, only: tuple[int, ...] | None
) -> tuple[FloatArray, float]:
    """Find the highest of `height` over moves in reach; staying is always among those tried."""
    least, most = room(model, steps)
    rng = np.random.default_rng(20240229)
    K = len(model.problem.knobs)
    centre = np.clip(aimed_move(model, steps, only), least, most)
    best, best_height = np.zeros(K), float(height(np.zeros((1, K)))[0])
    spread = np.where(most > least, (most - least) / 4, 0.0)
    for n in range(ROUNDS):
        throws = np.clip(centre + spread * rng.standard_normal((THROWS, K)), least, most)
        throws[0], throws[1] = centre, best
        if n == 0:
            throws[2 : 2 + K] = np.diag(most)
            throws[2 + K : 2 + 2 * K] = np.diag(least)
        heights = height(throws)
        order = np.argsort(-heights)[:KEPT]
        if heights[order[0]] > best_height:
            best, best_height = throws[order[0]], float(heights[order[0]])
        centre = throws[order].mean(0)
        spread = np.maximum(throws[order].std(0) * 1.1, (most - least) * 2e-4)
    return best, best_height


def aimed_move(model: Model, steps: float | FloatArray, only: tuple[int, ...] | None = None) -> FloatArray:
    """A first guess: damped least squares of the likeliest straight-line model to the middle of every limit."""
    rows = range(len(model.problem.targets)) if only is None else only
    K = len(model.problem.knobs)
    a, gap = np.zeros((len(rows), K)), np.zeros(len(rows))
    for n, j in enumerate(rows):
        target, width = model.problem.targets[j], model.scales.width[j]
        centre, doubt = slopes(model, j)
        a[n] = np.where(np.abs(centre) > doubt, centre, 0.0) / width
        _, now, _ = predict(model, j, np.zeros((1, K)), 1)
        gap[n] = (_wanted(target.low, target.high, now, width) - now)[0, 0] / width
    way = np.linalg.solve(a.T @ a + DAMPING * np.eye(K), a.T @ gap)
    return np.asarray(np.clip(way, -steps, steps) * model.scales.step)


def _wanted(low: float | None, high: float | None, now: FloatArray, width: float) -> FloatArray:
    """Middle of the limits; with one end only, where it is or a tenth of its scale inside."""
    if low is not None and high is not None:
        return np.full_like(now, (low + high) / 2)
    if low is not None:
        return np.maximum(now, low + width / 10)
    return now if high is None else np.minimum(now, high - width / 10)
