r"""Instants gathered by who made them: the mean of each group, with the covariance of the means.

A group is all instants of one direction at one boundary, for example "contact 3 closing". The means share
errors, because every instant of a character is timed from the same start transition:

    x(frame, group) = mean(group) + own scatter - start scatter(frame) + k x speed scatter(frame)

so the covariance of two means is  s^2 n_gh / (n_g n_h)  from the start, with n_gh the number of characters that
hold both; likewise k_g k_h r^2 from the speed. Both variances come from products of residuals in one character.
Sampling adds a part that averaging does not remove when the signal keeps step with the sample clock.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.line.frames import IntArray
from tapewright.line.instants import Instants
from tapewright.recordings.capture import BoolArray, FloatArray

#: Residuals beyond this many robust standard deviations are odd instants: counted, not averaged.
ODD_SIGMAS = 6.0
#: A group's own variance is drawn towards the common one as if that had been seen this many times.
SHRINK = 6.0


@dataclass(frozen=True, slots=True, eq=False)
class Groups:
    """Group means of elapsed time, and their covariance.

    Attributes:
        boundary: shape (g,), k of each group.
        to_mark: shape (g,), direction: True closing, False opening.
        n: shape (g,), number of instants averaged.
        mean_s: shape (g,), mean elapsed time since the start transition, less k times `unit_s`.
        covariance: shape (g, g), of the means, s squared.
        scatter_s: standard deviation of a single instant about its group's mean.
        start_scatter_s: the part of it shared by a character.
        residual_s: shape (instants,), of each instant; NaN where it was left out.
        odd: shape (instants,), True for instants left out as odd.
        group: shape (instants,), which group each instant belongs to.
        unit_s: the unit that was taken out.
        resolution_s: what the instrument resolves: the usual standard uncertainty of an instant from it alone.
    """

    boundary: IntArray
    to_mark: BoolArray
    n: IntArray
    mean_s: FloatArray
    covariance: FloatArray
    scatter_s: float
    start_scatter_s: float
    residual_s: FloatArray
    odd: BoolArray
    group: IntArray
    unit_s: float
    resolution_s: float


def gather(instants: Instants, unit_s: float) -> Groups:
    """Average the instants of each group.

    Args:
        instants: of all characters.
        unit_s: a good estimate of the unit; what it is off by shows as a slope of the means over k.
    """
    key = instants.boundary * 2 + instants.to_mark
    names, group = np.unique(key, return_inverse=True)
    x = instants.elapsed_s - instants.boundary * unit_s
    resolution = float(np.median(instants.u_s)) if x.size else 0.0
    odd = _odd(x, group, names.size, instants.chatter, resolution)
    kept = ~odd
    n = np.bincount(group[kept], minlength=names.size)
    have = n > 0
    renumber = np.cumsum(have) - 1
    names, n = names[have], n[have]
    group = np.where(have[group], renumber[group], -1) if group.size else group
    kept &= group >= 0
    mean = np.bincount(group[kept], x[kept], minlength=names.size) / n if names.size else np.empty(0)
    residual = np.full(x.size, np.nan)
    residual[kept] = x[kept] - mean[group[kept]]
    boundary, to_mark = names // 2, names % 2 == 1
    cov, scatter, start = _covariance(instants, residual, kept, group, boundary, n)
    return Groups(boundary, to_mark, n, mean, cov, scatter, start, residual, odd, group, unit_s, resolution)


def _odd(x: FloatArray, group: IntArray, groups: int, chatter: BoolArray, least_s: float) -> BoolArray:
    """Find chatter and the instants far from the middle of their group."""
    odd = chatter.copy()
    for g in range(groups):
        mine = np.flatnonzero((group == g) & ~chatter)
        if mine.size < 5:
            continue
        off = np.abs(x[mine] - np.median(x[mine]))
        # two thirds of the instants always count as usual, however tight the rest is
        spread = max(1.4826 * float(np.median(off)), float(np.percentile(off, 67)) / 0.97, least_s)
        odd[mine[off > ODD_SIGMAS * spread]] = True
    return odd


def _covariance(
    instants: Instants, residual: FloatArray, kept: BoolArray, group: IntArray, boundary: IntArray, n: IntArray
) -> tuple[FloatArray, float, float]:
    """Return the covariance of the group means, the scatter of one instant and the share of the start in it."""
    g = n.size
    if not g:
        return np.empty((0, 0)), 0.0, 0.0
    frame, r, mine = instants.frame[kept], residual[kept], group[kept]
    own, pooled = _variances(r, mine, n)
    present = np.zeros((int(frame.max()) + 1, g))
    present[frame, mine] = 1.0
    values = np.zeros_like(present)
    values[frame, mine] = r
    together = present.T @ present
    start, speed = _shared(values.T @ values, together, boundary.astype(float), pooled)
    k = boundary.astype(float)
    shared = (start + speed * np.outer(k, k)) * together / np.outer(n, n)
    alone = np.maximum(own - start - speed * k**2, 0.05 * own) / n
    covariance = shared + np.diag(alone - np.diag(shared) + np.diag(shared))
    sampling = np.bincount(mine, instants.u_s[kept] ** 2, minlength=g) / n
    # where the scatter is smaller than the sampling step, the steps do not average out
    stuck = np.clip(1.0 - own / np.maximum(sampling, 1e-30), 0.0, 1.0) * sampling
    covariance += np.diag(stuck + sampling / n * (stuck > 0))
    return covariance, float(np.sqrt(pooled)), float(np.sqrt(start))


def _variances(r: FloatArray, mine: IntArray, n: IntArray) -> tuple[FloatArray, float]:
    """Return the variance of one instant for each group, shape (g,), and for all together."""
    squares = np.bincount(mine, r**2, minlength=n.size)
    pooled = float(squares.sum() / max(int((n - 1).sum()), 1))
    return (squares + SHRINK * pooled) / (np.maximum(n - 1, 0) + SHRINK), pooled


def _shared(products: FloatArray, together: FloatArray, k: FloatArray, pooled: float) -> tuple[float, float]:
    """Fit  product(g, h) = start^2 + k_g k_h speed^2  to the residual products within characters; not negative."""
    upper = np.triu_indices(k.size, 1)
    weight = together[upper]
    if weight.sum() < 8:
        # too few to tell: half of the scatter may be the start's
        return 0.5 * pooled, 0.0
    y = products[upper] / np.maximum(weight, 1.0)
    x = np.outer(k, k)[upper]
    w = weight / weight.sum()
    alone = max(float(w @ y), 0.0)
    spread = float(w @ (x - w @ x) ** 2)
    slope = float(w @ ((x - w @ x) * (y - w @ y))) / spread if spread > 0 else 0.0
    start = float(w @ y - slope * (w @ x))
    if slope > 0 and start >= 0:
        return start, slope
    if slope > 0 and start < 0:
        return 0.0, max(float((w * x) @ y) / float((w * x) @ x), 0.0)
    return alone, 0.0
