r"""Gaussian linear models seen through gauges that give numbers or intervals.

Picture (prior of the latent value, cut by what the gauge allows, softened by its feel s):

                    .-'''-.
              [...:'       ':...]             tilted(f) = N(f; m, v) x [Phi((high-f)/s) - Phi((low-f)/s)]
           low               high

A number is exact Gaussian algebra. An interval is a probit-like site; expectation propagation (Minka 2001;
Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006, section 3.6, equations 3.51 to 3.74; equation
numbers from memory) replaces it by a Gaussian with the same first two moments. No sampling: the answer is the same
every time. All functions work on G models at once, first axis.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import log_ndtr

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

SWEEPS, DAMPING, SETTLED = 80, 0.6, 1e-5
LOG_SQRT_2PI = 0.5 * np.log(2 * np.pi)


@dataclass(frozen=True, slots=True, eq=False)
class Sites:
    """What the gauge said at T places.

    Attributes:
        low, high: shape (T,) or (G, T), ends of the interval; equal for a number.
        s: shape (G, T), standard uncertainty of the number, or of the feel at the interval's ends; above zero.
        seen: shape (T,), False where nothing was read.
    """

    low: FloatArray
    high: FloatArray
    s: FloatArray
    seen: BoolArray


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """Posterior of F independent standard normal weights, for G models.

    Attributes:
        mean: shape (G, F).
        covariance: shape (G, F, F).
        log_evidence: shape (G,), log probability of all that was seen.
        precision, shift: shape (G, T), the Gaussians exp(-p f^2 / 2 + h f) that stand in for what was seen.
    """

    mean: FloatArray
    covariance: FloatArray
    log_evidence: FloatArray
    precision: FloatArray
    shift: FloatArray


def log_between(a: FloatArray, b: FloatArray) -> FloatArray:
    """Return log(Phi(b) - Phi(a)) for a < b, exact far out in either tail."""
    flip = a + b > 0  # work in the left tail, where log Phi keeps its digits
    lower, upper = np.where(flip, -b, a), np.where(flip, -a, b)
    log_upper, log_lower = log_ndtr(upper), log_ndtr(lower)
    with np.errstate(divide="ignore"):
        return np.asarray(log_upper + np.log1p(-np.exp(np.minimum(log_lower - log_upper, -1e-300))))


def fit(design: FloatArray, sites: Sites) -> Fit:
    """Fit G models f = design @ weights, design of shape (G, T, F), weights standard normal beforehand.

    Only the min(T, F) directions of the weights that the trials can tell anything about take part (QR); there the
    precision matrix is a sum of positive parts, so that a prior a million times wider than the gauge does no harm.
    """
    Q, R = np.linalg.qr(np.swapaxes(design, 1, 2))
    exact = sites.seen & (sites.low == sites.high)
    interval = np.broadcast_to(sites.seen & ~exact, sites.s.shape)
    precision = np.where(exact, 1 / sites.s**2, 0.0)
    shift = np.where(exact, sites.low / sites.s**2, 0.0)
    around = _posterior(R, precision, shift)
    if interval.any():
        for _ in range(SWEEPS):
            left = _cavity(around, precision, shift)
            _, new_mean, new_variance = _tilted(left.mean, 1 / left.precision, sites)
            step = np.clip(1 / new_variance - left.precision, 1e-12, None) - precision
            precision = precision + DAMPING * np.where(interval, step, 0.0)
            wanted = new_mean / new_variance - left.mean * left.precision - shift
            shift = shift + DAMPING * np.where(interval, wanted, 0.0)
            around = _posterior(R, precision, shift)
            if np.all(np.abs(np.where(interval, step, 0.0)) <= SETTLED * (precision + left.precision)):
                break
    log_evidence = _log_evidence(around, precision, shift, sites, exact)
    eye = np.eye(design.shape[-1])
    Qt = np.swapaxes(Q, 1, 2)
    covariance = (eye - Q @ Qt) + Q @ around.covariance @ Qt
    return Fit(np.einsum("gft,gt->gf", Q, around.weights), covariance, log_evidence, precision, shift)


def draws(
    design: FloatArray, sites: Sites, found: Fit, count: int, rng: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    """Draw weights from the true posterior, shape (G, count, F), each with its share, shape (G, count), summing to 1.

    Intervals cut sharper than the Gaussians that stand in for them: the tails are thinner. The draws come from the
    Gaussian and are weighed by how much the interval would have them instead (importance sampling).
    """
    values, vectors = np.linalg.eigh(found.covariance)
    normal = rng.standard_normal((count // 2, design.shape[-1]))
    normal = np.concatenate([normal, -normal])
    root = vectors * np.sqrt(np.maximum(values, 0.0))[:, None, :]
    weights = found.mean[:, None, :] + normal @ np.swapaxes(root, 1, 2)
    f = weights @ np.swapaxes(design, 1, 2)
    low, high, s = (np.broadcast_to(x, sites.s.shape)[:, None, :] for x in (sites.low, sites.high, sites.s))
    interval = np.broadcast_to(sites.seen & (sites.low != sites.high), sites.s.shape)[:, None, :]
    with np.errstate(invalid="ignore"):
        true = log_between((low - f) / s, np.maximum((high - f) / s, (low - f) / s + 1e-9))
    gaussian = -0.5 * found.precision[:, None, :] * f**2 + found.shift[:, None, :] * f
    log_share = np.where(interval, true - gaussian, 0.0).sum(-1)
    share = np.exp(log_share - log_share.max(-1, keepdims=True))
    return weights, share / share.sum(-1, keepdims=True)


@dataclass(frozen=True, slots=True, eq=False)
class _Around:
    """Posterior of the weights in the directions of R, and of the latent values at the trials."""

    weights: FloatArray
    covariance: FloatArray
    mean: FloatArray
    variance: FloatArray
    log_gain: FloatArray  # log integral of prior times Gaussian sites exp(-p f^2 / 2 + h f)


@dataclass(frozen=True, slots=True, eq=False)
class _Cavity:
    """Each latent value as everything but its own site would have it."""

    precision: FloatArray
    mean: FloatArray


def _posterior(R: FloatArray, precision: FloatArray, shift: FloatArray) -> _Around:
    Rt = np.swapaxes(R, 1, 2)
    matrix = np.eye(R.shape[1]) + (R * precision[:, None, :]) @ Rt
    covariance = np.linalg.inv(matrix)
    towards = np.einsum("gft,gt->gf", R, shift)
    weights = np.einsum("gfh,gh->gf", covariance, towards)
    variance = (R * (covariance @ R)).sum(1)
    log_gain = 0.5 * (weights * towards).sum(-1) - 0.5 * np.linalg.slogdet(matrix)[1]
    mean = np.einsum("gft,gf->gt", R, weights)
    return _Around(weights, np.asarray(covariance), mean, np.maximum(variance, 1e-300), log_gain)


def _cavity(around: _Around, precision: FloatArray, shift: FloatArray) -> _Cavity:
    # by rounding it could come out at or under zero: never believe it wider than a millionfold
    left = np.maximum(1 / around.variance - precision, 1e-12 / around.variance)
    return _Cavity(left, (around.mean / around.variance - shift) / left)


def _tilted(mean: FloatArray, variance: FloatArray, sites: Sites) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Log norm, mean and variance of a Gaussian cut softly by the interval; numbers are left to the caller."""
    t = np.sqrt(variance + sites.s**2)
    a, b = (sites.low - mean) / t, (sites.high - mean) / t
    b = np.maximum(b, a + 1e-9)
    log_norm = log_between(a, b)
    at_a, at_b = (np.exp(np.clip(-0.5 * x**2 - LOG_SQRT_2PI - log_norm, -700, 50)) for x in (a, b))
    at_a, at_b = np.where(np.isfinite(a), at_a, 0.0), np.where(np.isfinite(b), at_b, 0.0)
    first = (at_a - at_b) / t
    edge = np.where(np.isfinite(a), a, 0.0) * at_a - np.where(np.isfinite(b), b, 0.0) * at_b
    second = edge / t**2 - first**2
    new_variance = variance + variance**2 * second
    return log_norm, mean + variance * first, np.clip(new_variance, 1e-6 * variance, variance)


def _log_evidence(
    around: _Around, precision: FloatArray, shift: FloatArray, sites: Sites, exact: BoolArray
) -> FloatArray:
    """Log probability of all that was seen: the Gaussian sites' integral, each site scaled to its true size."""
    left = _cavity(around, precision, shift)
    value = np.where(exact, sites.low, 0.0)
    log_number = -0.5 * (value / sites.s) ** 2 - 0.5 * np.log(2 * np.pi * sites.s**2)
    with np.errstate(invalid="ignore"):
        log_cut = _tilted(left.mean, 1 / left.precision, sites)[0]
    total = precision + left.precision
    log_gaussian = 0.5 * np.log(left.precision / total)
    log_gaussian += 0.5 * ((left.precision * left.mean + shift) ** 2 / total - left.precision * left.mean**2)
    scale = np.where(exact, log_number, log_cut - log_gaussian)
    return np.asarray(around.log_gain + np.where(sites.seen, scale, 0.0).sum(-1))
