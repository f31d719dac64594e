r"""Instants gathered by who made them: the mean of each group, with the covariance of the means.

A group is all instants of one direction at one boundary, for example "contact 3 closing". What the instants of a
character share (shared.py) makes the means depend on each other. Sampling adds a part that averaging does not remove
when the signal keeps step with the sample clock.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.line.frames import IntArray
from tapewright.line.instants import Instants
from tapewright.line.shared import Shared, share_out
from tapewright.recordings.capture import BoolArray, FloatArray

#: Residuals beyond this many robust standard deviations are odd instants: counted, not averaged.
ODD_SIGMAS = 6.0


@dataclass(frozen=True, slots=True, eq=False)
class Groups:
    """Group means of elapsed time, and their covariance.

    Attributes:
        boundary: shape (g,), k of each group.
        to_mark: shape (g,), direction: True closing, False opening.
        n: shape (g,), number of instants averaged.
        mean_s: shape (g,), mean elapsed time since the start transition, less k times `unit_s`.
        covariance: shape (g, g), of the means, s squared.
        scatter_s: standard deviation of a single instant about its group's mean, when the speed does not wander.
        start_scatter_s: the part of it shared by a character.
        residual_s: shape (instants,), of each instant; NaN where it was left out.
        odd: shape (instants,), True for instants left out as odd.
        group: shape (instants,), which group each instant belongs to.
        unit_s: the unit that was taken out.
        resolution_s: what the instrument resolves: the usual standard uncertainty of an instant from it alone.
        shared: the variances, with what the speed does from character to character; None without instants.
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
    shared: Shared | None = None


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
    boundary, to_mark = names // 2, names % 2 == 1
    residual = np.full(x.size, np.nan)
    if not names.size:
        return Groups(
            boundary,
            to_mark,
            n,
            np.empty(0),
            np.empty((0, 0)),
            0.0,
            0.0,
            residual,
            odd,
            group,
            unit_s,
            resolution,
            None,
        )
    mine, u2 = group[kept], instants.u_s[kept] ** 2
    shared = share_out(instants.frame[kept], mine, x[kept], boundary.astype(float), float(np.mean(u2)) / 2)
    residual[kept] = x[kept] - shared.mean_s[mine]
    # where the scatter is smaller than the sampling step, the steps do not average out
    sampling = np.bincount(mine, u2, minlength=n.size) / n
    stuck = np.clip(1.0 - (shared.own2 + shared.start2) / np.maximum(sampling, 1e-30), 0.0, 1.0) * sampling
    covariance = shared.covariance + np.diag(stuck + sampling / n * (stuck > 0))
    return Groups(
        boundary,
        to_mark,
        n,
        shared.mean_s,
        covariance,
        float(np.sqrt(shared.own2 + shared.start2)),
        float(np.sqrt(shared.start2)),
        residual,
        odd,
        group,
        unit_s,
        resolution,
        shared,
    )


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
