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
    """Posterior in the form K - K W K and K r, for G models.

    Attributes:
        r: shape (G, T); posterior mean of anything with prior covariance k to the latent values is k @ r.
        W: shape (G, T, T); its variance is k0 - k @ W @ k.
        log_evidence: shape (G,).
    """

    r: FloatArray
    W: FloatArray
    log_evidence: FloatArray


def log_between(a: FloatArray, b: FloatArray) -> FloatArray:
    """Give log(Phi(b) - Phi(a)) for a < b, exact far out in either tail."""
    flip = a + b > 0  # work in the left tail, where log Phi keeps its digits
    lower, upper = np.where(flip, -b, a), np.where(flip, -a, b)
    log_upper, log_lower = log_ndtr(upper), log_ndtr(lower)
    with np.errstate(divide="ignore"):
        return np.asarray(log_upper + np.log1p(-np.exp(np.minimum(log_lower - log_upper, -1e-300))))


def fit(K: FloatArray, sites: Sites) -> Fit:
    """Fit G models with prior covariance K, shape (G, T, T), of the latent values at the trials (mean zero)."""
    exact = sites.seen & (sites.low == sites.high)
    interval = sites.seen & ~exact
    precision = np.where(exact, 1 / sites.s**2, 0.0)
    shift = np.where(exact, sites.low / sites.s**2, 0.0)
    W, mean, variance = _posterior(K, precision, shift)
    if interval.any():
        for _ in range(SWEEPS):
            cavity_precision, cavity_mean = _cavity(K, mean, variance, precision, shift)
            _, new_mean, new_variance = _tilted(cavity_mean, 1 / cavity_precision, sites)
            wanted_precision = np.clip(1 / new_variance - cavity_precision, 1e-12, None)
            wanted_shift = new_mean * (wanted_precision + cavity_precision) - cavity_mean * cavity_precision
            step = np.where(interval, wanted_precision - precision, 0.0)
            precision = precision + DAMPING * step
            shift = shift + DAMPING * np.where(interval, wanted_shift - shift, 0.0)
            W, mean, variance = _posterior(K, precision, shift)
            if np.all(np.abs(step) <= SETTLED * (precision + cavity_precision)):
                break
    r = shift - np.einsum("gij,gj->gi", W, np.einsum("gij,gj->gi", K, shift))
    return Fit(r, W, _log_evidence(K, precision, shift, mean, variance, sites, exact))


def _cavity(
    K: FloatArray, mean: FloatArray, variance: FloatArray, precision: FloatArray, shift: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Precision and mean of each latent value with its own site left out; never wider than the prior."""
    cavity_precision = np.maximum(1 / variance - precision, 1 / np.einsum("gii->gi", K))
    return cavity_precision, (mean / variance - shift) / cavity_precision


def _posterior(K: FloatArray, precision: FloatArray, shift: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    root = np.sqrt(precision)
    B = np.eye(K.shape[-1]) + root[:, :, None] * K * root[:, None, :]
    W = root[:, :, None] * np.linalg.inv(B) * root[:, None, :]
    KW = K @ W
    covariance = K - KW @ K
    variance = np.maximum(np.einsum("gii->gi", covariance), 1e-14 * np.einsum("gii->gi", K))
    return W, np.einsum("gij,gj->gi", covariance, shift), variance


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
    K: FloatArray,
    precision: FloatArray,
    shift: FloatArray,
    mean: FloatArray,
    variance: FloatArray,
    sites: Sites,
    exact: BoolArray,
) -> FloatArray:
    """Log probability of all that was seen (R and W, equations 3.73 and 3.74; numbers enter as Gaussian sites)."""
    cavity_precision, cavity_mean = _cavity(K, mean, variance, precision, shift)
    cavity_variance = 1 / cavity_precision
    t2 = cavity_variance + sites.s**2
    value = np.where(exact, sites.low, 0.0)
    log_number = -0.5 * (value - cavity_mean) ** 2 / t2 - 0.5 * np.log(2 * np.pi * t2)
    low, high = np.where(sites.seen, sites.low, -1.0), np.where(sites.seen, sites.high, 1.0)
    cut = Sites(np.where(exact, -1.0, low), np.where(exact, 1.0, high), sites.s, sites.seen)
    log_site = np.where(exact, log_number, _tilted(cavity_mean, cavity_variance, cut)[0])
    total = np.where(sites.seen, log_site + 0.5 * np.log1p(precision * cavity_variance), 0.0).sum(-1)
    root = np.sqrt(precision)
    B = np.eye(K.shape[-1]) + root[:, :, None] * K * root[:, None, :]
    total -= 0.5 * np.linalg.slogdet(B)[1]
    total += 0.5 * ((mean - shift / (precision + cavity_precision)) * shift).sum(-1)
    mixed = cavity_precision * cavity_mean / (precision + cavity_precision)
    return np.asarray(total + 0.5 * (mixed * (precision * cavity_mean - 2 * shift)).sum(-1))
