r"""What the instants of one character share: its start, its own speed, the bend of its speed; and what each has alone.

    x(character, group) = mean(group) + own scatter - start + k slope + k^2 bend

with the start, slope and bend of each character normal and independent (a mixed model; what drift and steady swings
explain has been taken out before). A speed that wanders, in whatever way, is in slope and bend, so it blurs neither the
means nor the scatter. Variances are those of greatest restricted likelihood, found by scoring; the means are
generalised least squares, with their covariance. Characters with the same groups have the same
covariance, so all is done on sums over characters of one pattern, of which there are a few dozen at most, however long
the recording.

Source, from memory: D. A. Harville, J. Am. Stat. Assoc. 72 (1977): restricted likelihood, its information, and the
iteration by scoring, which solves for all variances at once with the weights of those before.
"""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from tapewright.line.frames import IntArray
from tapewright.recordings.capture import BoolArray, FloatArray

#: Most steps of the iteration; the share by which the variances change in the end, and at most in a step.
STEPS, SETTLED, FACTOR = 25, 0.01, 4.0
#: A group's own variance is drawn towards the common one as if it had been seen so many times more.
SHRINK = 6.0
#: Fewest characters that show a slope, and a bend of it, of their own; with fewer the start may have half the scatter.
FEWEST_FOR_SLOPE, FEWEST_FOR_BEND, CLEAR = 6, 20, 4.0
#: What is shared may have this many own variances over the number of characters, whatever was found.
MAY_BE = 3.0
#: Instants more than means, below which nothing is known of how far the variance itself may be out.
FEWEST_FREE = 3
#: No variance is taken for smaller than this share of all of it.
SMALLEST = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Shared:
    """Means of the groups, and what scatters the instants about them.

    Attributes:
        mean_s: shape (g,), of the groups.
        covariance: shape (g, g), of the means, s squared, for the mean speed of these very characters.
        own2: variance of an instant about its character's line, s squared.
        start2: variance of the start.
        slope2: variance of the slope over k.
        bend2: variance of the bend over k squared.
        variances_cov: shape (4, 4), covariance of these four.
    """

    mean_s: FloatArray
    covariance: FloatArray
    own2: float
    start2: float
    slope2: float
    bend2: float
    variances_cov: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class _Patterns:
    """Sums over characters that have the same groups, p patterns.

    Attributes:
        present: shape (p, g), which groups.
        n: shape (p,), number of characters.
        total: shape (p, g), sum of x.
        squares: shape (p, g, g), sum of x x'.
    """

    present: BoolArray
    n: FloatArray
    total: FloatArray
    squares: FloatArray


def share_out(frame: IntArray, group: IntArray, x: FloatArray, k: FloatArray, floor2: float) -> Shared:
    """Estimate means and variances.

    Args:
        frame: shape (n,), character of each instant.
        group: shape (n,), its group, 0 to g - 1; a character has each group once at most.
        x: shape (n,), elapsed time less k units, s.
        k: shape (g,), boundary of each group.
        floor2: what the instrument alone scatters, s squared; no smaller own variance is believed.
    """
    g = k.size
    n = np.maximum(np.bincount(group, minlength=g), 1)
    middle = np.bincount(group, x, minlength=g) / n
    sums = _sums(frame, group, x - middle[group], g)
    columns = np.column_stack((np.ones(g), k, k**2))
    characters = float(sums.n.sum())
    squares = float(np.trace(sums.squares.sum(axis=0))) / max(x.size - g, 1)
    found = _Found(np.zeros(g), np.ones(g), np.array([squares / 2, squares / 4]), np.zeros((2, 2)))
    floor2 = max(floor2, SMALLEST * squares, 1e-24)
    if characters >= FEWEST_FOR_SLOPE:
        found = replace(found, variances=np.append(found.variances, squares / 4 / float((k**2).mean())))
    found = _scored(sums, columns, found, x.size, floor2)
    if characters >= FEWEST_FOR_BEND and found.variances[2] > CLEAR * float(np.sqrt(found.doubt[2, 2])):
        bend = found.variances[2] / float((k**2).mean()) / 4
        found = _scored(sums, columns, replace(found, variances=np.append(found.variances, bend)), x.size, floor2)
    many = found.variances.size
    own, spread = found.own(floor2), found.variances[1:]
    mean, covariance = _means(sums, columns[:, : many - 1], own, spread)
    if many > 2:
        # the unit is that of these characters, not of all that the machine might send
        covariance = covariance - spread[1] / characters * np.outer(k, k)
    # a variance known from few instants itself: Student's distribution has so much more
    free = x.size - g
    covariance = covariance * (free / (free - 2) if free > FEWEST_FREE else FEWEST_FREE)
    all_four, all_doubt = np.zeros(4), np.zeros((4, 4))
    all_four[:many], all_doubt[:many, :many] = found.variances, found.doubt
    own2, start2, slope2, bend2 = all_four.tolist()
    return Shared(middle + mean, _positive(covariance, own / n), own2, start2, slope2, bend2, all_doubt)


@dataclass(frozen=True, slots=True, eq=False)
class _Found:
    """How far the estimate has come: means (g,), own variances as shares of the usual one (g,), variances, doubt."""

    mean: FloatArray
    alone: FloatArray
    variances: FloatArray
    doubt: FloatArray

    def own(self, floor2: float) -> FloatArray:
        return np.asarray(np.maximum(self.variances[0] * self.alone, floor2), float)


def _scored(sums: _Patterns, columns: FloatArray, found: _Found, instants: int, floor2: float) -> _Found:
    """Return the estimate by scoring, half a step at a time and within a factor, so that it neither swings nor runs."""
    mean, alone, variances, doubt = found.mean, found.alone, found.variances, found.doubt
    columns = columns[:, : variances.size - 1]
    more = instants / max(instants - mean.size, 1)
    for step in range(STEPS):
        own = np.maximum(variances[0] * alone, floor2)
        if step in (2, 6):
            mean, _ = _means(sums, columns, own, variances[1:])
            alone = _alone(sums, mean, columns, own, variances[1:])
            own = np.maximum(variances[0] * alone, floor2)
        information, right, expected = _likelihood(more * _about(sums, mean), sums, columns, own, variances[1:], alone)
        # scoring is quick, but may leap below nought, where the other step only halves its way towards it
        scaled = information * np.outer(variances, variances)
        better = np.linalg.pinv(scaled, rcond=1e-10, hermitian=True) @ (right * variances) * variances
        slow = variances * np.sqrt(np.maximum(right, 0.0) / np.maximum(expected, 1e-300))
        better = np.where(
            better > variances / FACTOR, np.minimum(better, variances * FACTOR), np.minimum(slow, variances / 2)
        )
        better = np.maximum(better, floor2 * np.array([1.0] + [SMALLEST] * (variances.size - 1)))
        done = step > 6 and bool(
            np.all(np.abs(better - variances) <= SETTLED * np.maximum(variances, variances[0] / 50))
        )
        variances = better
        if done:
            break
    # where little is known of what is shared, it may be found as nought by chance: its doubt is that of a little more
    little = MAY_BE * variances[0] / float(sums.n.sum()) / np.mean(columns**2, axis=0)
    held = np.asarray(np.maximum(variances, np.append(0.0, little)), float)
    information, _, _ = _likelihood(sums.squares, sums, columns, np.maximum(held[0] * alone, floor2), held[1:], alone)
    outer = np.outer(held, held)
    doubt = np.asarray(np.linalg.pinv(information * outer, rcond=1e-10, hermitian=True) * outer, float)
    return _Found(mean, alone, variances, doubt)


def _sums(frame: IntArray, group: IntArray, x: FloatArray, g: int) -> _Patterns:
    rows, row = np.unique(frame, return_inverse=True)
    values, present = np.zeros((rows.size, g)), np.zeros((rows.size, g), bool)
    values[row, group], present[row, group] = x, True
    _, first, pattern = np.unique(present @ (1 << np.arange(g)), return_index=True, return_inverse=True)
    order = np.argsort(pattern, kind="stable")
    ends = np.searchsorted(pattern[order], np.arange(first.size + 1))
    of_each = [values[order[a:b]] for a, b in pairwise(ends)]
    return _Patterns(
        present[first],
        np.diff(ends).astype(float),
        np.array([v.sum(axis=0) for v in of_each]),
        np.array([v.T @ v for v in of_each]),
    )


def _weights(
    sums: _Patterns, columns: FloatArray, own: FloatArray, spread: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return for each pattern: columns (p, g, s) of what is present, W U (p, g, s) and (D^-1 + U'WU)^-1 (p, s, s)."""
    u = columns * sums.present[:, :, None]
    wu = u / own[None, :, None]
    return u, wu, np.asarray(np.linalg.inv(np.diag(1 / spread) + np.swapaxes(u, 1, 2) @ wu), float)


def _means(sums: _Patterns, columns: FloatArray, own: FloatArray, spread: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the means by generalised least squares, (g,), and their covariance, (g, g)."""
    _, wu, inner = _weights(sums, columns, own, spread)
    inverse = -(wu @ inner @ np.swapaxes(wu, 1, 2))
    diagonal = np.arange(own.size)
    inverse[:, diagonal, diagonal] += sums.present / own
    covariance = np.linalg.inv(np.einsum("p,pij->ij", sums.n, inverse))
    return covariance @ np.einsum("pij,pj->i", inverse, sums.total), covariance


def _about(sums: _Patterns, mean: FloatArray) -> FloatArray:
    """Return the sums of squares about the means, (p, g, g)."""
    m = mean * sums.present
    cross = sums.total[:, :, None] * m[:, None, :]
    return sums.squares - cross - np.swapaxes(cross, 1, 2) + sums.n[:, None, None] * m[:, :, None] * m[:, None, :]


def _alone(sums: _Patterns, mean: FloatArray, columns: FloatArray, own: FloatArray, spread: FloatArray) -> FloatArray:
    """Return each group's own variance as a share of the usual one, (g,): expectation of the squares left over."""
    u, wu, inner = _weights(sums, columns, own, spread)
    left = np.eye(own.size) * sums.present[:, :, None] - u @ inner @ np.swapaxes(wu, 1, 2)
    rest = np.einsum("pig,pgh,pih->i", left, _about(sums, mean), left)
    rest += np.einsum("p,pis,pst,pit->i", sums.n, u, inner, u)
    n = sums.n @ sums.present
    pooled = float(rest.sum() / max(n.sum(), 1.0))
    share = (rest + SHRINK * pooled) / (n + SHRINK) / max(pooled, 1e-30)
    return np.asarray(share / max(float(share @ n / n.sum()), 1e-30), float)


def _likelihood(
    squares: FloatArray, sums: _Patterns, columns: FloatArray, own: FloatArray, spread: FloatArray, alone: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return Fisher's information of the variances, tr(V^-1 A V^-1 S) / 2 of each and what that should be."""
    present = sums.present
    both = present[:, :, None] & present[:, None, :]
    u = columns * present[:, :, None]
    parts = [np.eye(own.size) * alone * both, *(u[:, :, s, None] * u[:, None, :, s] for s in range(spread.size))]
    whole = np.eye(own.size) * np.where(present, own, 1.0)[:, :, None] + np.einsum("pis,s,pjs->pij", u, spread, u)
    inverse = np.linalg.inv(whole) * both
    turned = [inverse @ part for part in parts]
    information = np.array([[0.5 * float(np.einsum("p,pij,pji->", sums.n, a, b)) for b in turned] for a in turned])
    seen = inverse @ squares
    right = np.array([0.5 * float(np.einsum("pij,pji->", a, seen)) for a in turned])
    return information, right, np.array([0.5 * float(np.einsum("p,pii->", sums.n, a)) for a in turned])


def _positive(covariance: FloatArray, least: FloatArray) -> FloatArray:
    """Return the covariance with no variance below what the own scatter alone leaves."""
    short = np.maximum(least - np.diag(covariance), 0.0)
    return np.asarray((covariance + covariance.T) / 2 + np.diag(short), float)
