r"""How well the trials explain one reading: smooth, with a reading changed or left out, shifted from a trial on.

For numbers, and for intervals as numbers with the doubt of a rectangle, each account is a Gaussian: one matrix for each
combination of scales. A reading that is changed, left out, or shifted from a trial on needs no new one (partitioned
inverse; the update of a matrix by a vector, Sherman and Morrison 1950, from memory).
"""

import numpy as np
import numpy.typing as npt
from scipy.special import logsumexp

from tapewright.gauges.trim.interval_fit import FloatArray
from tapewright.gauges.trim.learning import (
    FIRST_PASS_KAPPA,
    NUMBER_FEEL,
    grid_of,
    middle_of,
    prior,
    shares_of,
    wide_of,
)
from tapewright.gauges.trim.problem import Problem, Seen, follow
from tapewright.gauges.trim.sensitivity import Scales, features

IntArray = npt.NDArray[np.intp]

#: a wrong reading may lie anywhere within so many widths of the limits; a slip is of about so many
REACH, SLIPS = 15.0, (0.5, 2.0, 8.0)
#: a reading is confirmed when the others tell it to within so many widths of the limits, one standard deviation
CONFIRMED = 0.5


class ReadingOdds:
    """One reading under the smooth account.

    Attributes:
        j: its place.
        log_weight: shape (G,), prior of each combination and log density of all that was read.
        inverse: shape (G, T, T), of the covariance of what was read; towards: shape (G, T), times what was read.
        at: shape (T,), the trials at which it was read; value, spread: shape (T,), what and with which doubt.
    """

    def __init__(self, problem: Problem, scales: Scales, j: int) -> None:
        self.j, self.target, self.width = j, problem.targets[j], float(scales.width[j])
        read = [(t, trial.read[j]) for t, trial in enumerate(problem.trials)]
        kept = [(t, s) for t, s in read if s is not None and not _open(s)]
        self.at = np.array([t for t, _ in kept], dtype=int)
        self.seen = [s for _, s in kept]
        self.value = np.array([middle_of(s) for s in self.seen])
        self.spread = np.array([_spread(s, float(scales.u[j])) for s in self.seen])
        self.grid = grid_of(self.width, FIRST_PASS_KAPPA, shares_of(scales), NUMBER_FEEL)
        parts = self.densities(problem, scales, problem.screws[None])
        self.log_weight, self.inverse, self.towards = (part[0] for part in parts)
        self.log_smooth = float(logsumexp(self.log_weight))
        typical = np.median(np.abs(self.value - np.median(self.value))) if len(self.value) else 0.0
        self.log_anything = -np.log(2 * (REACH * self.width + 4 * float(typical)))

    def densities(
        self, problem: Problem, scales: Scales, screws: FloatArray, few: IntArray | None = None
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return log weights (H, G), inverses (H, G, T, T) and towards (H, G, T) for screws of shape (H, T, K)."""
        grid, T = self.grid, len(self.at)
        keep = np.arange(len(grid.tau)) if few is None else few
        wide = wide_of(scales, self.j, []) + 3 * _robust_range(self.value)
        m0, v0 = prior(problem, scales, self.j, grid, wide, None)
        m0, v0 = m0[keep], v0[keep]
        unmoved = np.cumprod(screws == screws[:, :1], axis=1).astype(float)
        steps = np.broadcast_to(problem.steps_of(self.j), (len(screws), *problem.steps_of(self.j).shape))
        phi_of = {}
        for share in np.unique(grid.share[keep]):
            part = _followed(screws, float(share) * scales.play)
            way = (part - part[:, -1:]) / scales.step
            phi = np.concatenate([features(way, unmoved - unmoved[:, -1:]), steps], axis=-1)
            phi_of[share] = phi[:, self.at]
        phi = np.stack([phi_of[s] for s in grid.share[keep]], axis=1)
        rest = self.value - (self.value[-1] if T else 0.0) - np.einsum("hgtf,gf->hgt", phi, m0)
        scaled = phi * np.sqrt(v0)[None, :, None, :]
        noise = np.hypot(grid.feel[keep][:, None] * self.spread, self.target.lock_shift)
        matrix = scaled @ np.swapaxes(scaled, -1, -2) + noise[:, :, None] ** 2 * np.eye(T)
        inverse = np.linalg.inv(matrix)
        towards = np.einsum("hgst,hgt->hgs", inverse, rest)
        log_n = -0.5 * ((rest * towards).sum(-1) + np.linalg.slogdet(matrix)[1] + T * np.log(2 * np.pi))
        log_prior = grid.log_prior - logsumexp(grid.log_prior)
        return np.asarray(log_prior[keep] + log_n), inverse, towards

    def changed(self, n: int, by: float) -> float:
        """Return the log density when the nth reading is changed by so much."""
        return float(logsumexp(self.log_weight - by * self.towards[:, n] - 0.5 * by**2 * self.inverse[:, n, n]))

    def without(self, n: int) -> tuple[float, float]:
        """Return the log density without the nth reading, and what the others expect there."""
        p, away = self.inverse[:, n, n], self.towards[:, n] / self.inverse[:, n, n]
        logs = self.log_weight + 0.5 * (np.log(2 * np.pi / p) + away**2 * p)
        share = np.exp(logs - logsumexp(logs))
        return float(logsumexp(logs)), float(self.value[n] - share @ away)

    @property
    def confirmed(self) -> bool:
        """Return whether each reading is near what all others together expect, so that a slip of the pen would show."""
        if not self.log_weight.size or not len(self.at):
            return True
        share = np.exp(self.log_weight - self.log_smooth)
        return bool(np.all(share @ (1 / np.sqrt(self.inverse.diagonal(axis1=1, axis2=2))) < CONFIRMED * self.width))

    def stepped(self, trial: int) -> float:
        """Return the log density when it lies otherwise from a trial on."""
        v = (self.at >= trial).astype(float)
        if not v.any() or v.all():
            return self.log_smooth
        inside, along = v @ self.inverse @ v, self.towards @ v
        logs = []
        for widths in SLIPS:
            more = (widths * self.width) ** 2
            gain = -0.5 * np.log1p(more * inside) + 0.5 * more * along**2 / (1 + more * inside)
            logs.append(logsumexp(self.log_weight + gain))
        return float(logsumexp(logs) - np.log(len(SLIPS)))


def _open(seen: Seen) -> bool:
    return seen.value is None and (seen.low is None or seen.high is None)


def _spread(seen: Seen, u: float) -> float:
    """Return the doubt of a number, or of an interval taken as one: a rectangle and the feel at its ends."""
    if seen.value is not None:
        return u if seen.u is None else max(seen.u, u / 100)
    assert seen.low is not None
    assert seen.high is not None
    return float(np.hypot((seen.high - seen.low) / np.sqrt(12), min(u, (seen.high - seen.low) / 2)))


def _robust_range(values: FloatArray) -> float:
    """Return the range of what was read without the farthest one, so that one slip does not widen everything."""
    if len(values) < 4:
        return 0.0
    away = np.abs(values - np.median(values))
    return float(np.ptp(values[away < away.max()])) if np.any(away < away.max()) else 0.0


def _followed(screws: FloatArray, play: FloatArray) -> FloatArray:
    part = np.empty_like(screws)
    here = screws[:, 0]
    for n in range(screws.shape[1]):
        here = part[:, n] = follow(here, screws[:, n], play)
    return part
