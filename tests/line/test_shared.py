"""What a character's instants share, against the restricted likelihood written out and a general optimiser."""

import numpy as np
import pytest
from scipy import optimize, stats

from tapewright.line.shared import share_out

K = np.array([1, 2, 3, 4, 5, 6, 2, 3, 4, 5], float)  # six closings, four openings


def drawn(seed, characters, own, start, slope):
    """Return frame, group, x (ms) of characters that each hold about half of the groups, and the means."""
    rng = np.random.default_rng(seed)
    means = rng.normal(0, 0.3, K.size)
    here = rng.random((characters, K.size)) < 0.5
    here[:, 5] = True  # the stop's closing is in nearly every character
    frame, group = np.nonzero(here)
    x = means[group] + rng.normal(0, own, frame.size) - rng.normal(0, start, characters)[frame]
    return frame, group, x + K[group] * rng.normal(0, slope, characters)[frame], means


@pytest.mark.parametrize(("own", "start", "slope"), [(0.05, 0.03, 0.01), (0.05, 0.2, 0.1)])
def test_variances_and_means_are_those_of_greatest_restricted_likelihood(own, start, slope):
    frame, group, x, _ = drawn(1, 120, own, start, slope)
    found = share_out(frame, group, x, K, 0.0)
    blocks = [np.flatnonzero(frame == each) for each in range(120)]

    def parts(log):
        own2, start2, slope2 = np.exp(log)
        for at in blocks:
            k, design = K[group[at]], np.eye(10)[group[at]]
            yield np.eye(k.size) * own2 + start2 + slope2 * np.outer(k, k), design, x[at]

    def means(log):
        inverses = [(np.linalg.inv(v), design, y) for v, design, y in parts(log)]
        information = sum(design.T @ inverse @ design for inverse, design, _ in inverses)
        return np.linalg.solve(information, sum(design.T @ inverse @ y for inverse, design, y in inverses)), information

    def restricted(log):  # Harville's formula, character by character
        mean, information = means(log)
        alone = sum(
            np.linalg.slogdet(v)[1] + (y - design @ mean) @ np.linalg.solve(v, y - design @ mean)
            for v, design, y in parts(log)
        )
        return alone + np.linalg.slogdet(information)[1]

    best = optimize.minimize(restricted, np.log([own**2, start**2, slope**2]), method="Nelder-Mead",
                             options={"xatol": 0.01, "fatol": 0.01}).x  # fmt: skip
    own2, start2, slope2 = np.exp(best)
    assert np.sqrt(found.own2) == pytest.approx(np.sqrt(own2), rel=0.05)
    assert np.sqrt(found.start2) == pytest.approx(np.sqrt(start2), rel=0.1, abs=0.2 * own)
    assert np.sqrt(found.slope2) == pytest.approx(np.sqrt(slope2), rel=0.1, abs=0.05 * own)
    assert found.mean_s == pytest.approx(means(best)[0], abs=0.25 * own)


def test_a_speed_that_wanders_is_in_neither_scatter_nor_means():
    # slopes that move the last boundary by ten times the scatter; chi-square bounds, one in a thousand
    errors = []
    for seed in range(12):
        frame, group, x, means = drawn(seed, 100, 0.05, 0.02, 0.1)
        found = share_out(frame, group, x, K, 0.0)
        assert np.sqrt(found.own2) == pytest.approx(0.05, rel=0.2)
        differences = (found.mean_s - means)[1:6] - (found.mean_s - means)[:5]
        difference = np.eye(10)[1:6] - np.eye(10)[:5]
        cov = difference @ found.covariance @ difference.T
        errors += (differences / np.sqrt(np.diag(cov))).tolist()
    low, high = stats.chi2.ppf([0.001, 0.999], len(errors))
    assert low / 1.6 < np.sum(np.square(errors)) < high * 1.6  # neighbours share a mean: fewer are independent


@pytest.mark.parametrize("characters", [1, 2, 3, 7])
def test_few_characters_have_a_covariance_that_is_one(characters):
    frame, group, x, _ = drawn(5, characters, 0.05, 0.02, 0.0)
    groups, group = np.unique(group, return_inverse=True)
    found = share_out(frame, group, x, K[groups], 0.0)
    assert np.all(np.isfinite(found.mean_s))
    assert np.linalg.eigvalsh(found.covariance).min() >= -1e-12
    assert np.all(np.diag(found.covariance) > 0)
