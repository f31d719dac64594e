"""Trim against outside witnesses, and what it must say of easy, idle and impossible machines."""

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import integrate
from scipy.stats import multivariate_normal, norm

from fakes.restorer import follow_advice
from tapewright.gauges.trim.advice import advise
from tapewright.gauges.trim.interval_fit import Sites, draws, fit, log_between
from tapewright.gauges.trim.problem import Expectation, Knob, Problem, Seen, Target, Trial, follow_all
from tapewright.practice.adjusters import AdjusterTruth, Mechanism


def numbers_sites(y, s):
    return Sites(y, y, np.full((1, len(y)), s), np.ones(len(y), dtype=bool))


def test_numbers_are_exact_gaussian_algebra():
    """Evidence and posterior against scipy's multivariate normal and a general statistics library's least squares."""
    rng = np.random.default_rng(3)
    design, s = rng.standard_normal((6, 3)) * [20.0, 5.0, 5.0], 0.05
    y = design @ [0.3, -0.8, 0.4] + s * rng.standard_normal(6)
    found = fit(design[None], numbers_sites(y, s))
    expected = multivariate_normal(np.zeros(6), design @ design.T + s**2 * np.eye(6)).logpdf(y)
    assert found.log_evidence[0] == pytest.approx(expected, abs=1e-6)
    # with a prior far wider than the data the mean is that of ordinary least squares (statsmodels)
    ols = sm.OLS(y, design).fit()
    assert found.mean[0] == pytest.approx(ols.params, rel=1e-3)
    assert np.sqrt(np.diag(found.covariance[0])) == pytest.approx(ols.bse * s / np.sqrt(ols.scale), rel=1e-3)


def test_learned_slopes_are_those_of_least_squares_on_the_same_trials():
    rng = np.random.default_rng(8)
    at = rng.uniform(-1, 1, (8, 2))
    y = 0.3 + at @ [0.4, -0.25] + 0.002 * rng.standard_normal(8)
    trials = tuple(Trial(tuple(map(float, a)), (Seen(float(v)),)) for a, v in zip(at, y, strict=True))
    knobs = (Knob("a", "turn", 0.5), Knob("b", "turn", 0.5))
    advice = advise(Problem(knobs, (Target("gap", "mm", 0.2, 0.28, 0.002),), trials))
    ols = sm.OLS(y, sm.add_constant(at)).fit()
    for slope, expected in zip(advice.sensitivity["gap"].values(), ols.params[1:], strict=True):
        assert slope.value == pytest.approx(expected, abs=2 * slope.u)
        assert slope.value == pytest.approx(expected, abs=0.01)


def test_one_interval_agrees_with_quadrature():
    """Moments and evidence of a Gaussian cut softly by an interval, by scipy's quadrature."""
    low, high, s = 0.3, 0.9, 0.2
    found = fit(np.ones((1, 1, 1)), Sites(np.array([low]), np.array([high]), np.array([[s]]), np.array([True])))

    def weight(f):
        return norm.pdf(f) * (norm.cdf((high - f) / s) - norm.cdf((low - f) / s))

    z = integrate.quad(weight, -8, 8)[0]
    mean = integrate.quad(lambda f: f * weight(f), -8, 8)[0] / z
    variance = integrate.quad(lambda f: (f - mean) ** 2 * weight(f), -8, 8)[0] / z
    assert found.log_evidence[0] == pytest.approx(np.log(z), abs=1e-6)
    assert (found.mean[0, 0], found.covariance[0, 0, 0]) == pytest.approx((mean, variance), rel=1e-4)


def test_several_intervals_agree_with_plain_monte_carlo():
    """Draws and moments against brute force: throw two million weights at the prior, keep those the gauges allow."""
    rng = np.random.default_rng(5)
    design = np.array([[1.0, 0.0], [1.0, 0.6], [1.0, -0.8]])
    low, high, s = np.array([0.2, 0.5, -0.3]), np.array([0.5, 0.8, 0.1]), 0.05
    thrown = rng.standard_normal((2_000_000, 2))
    seen = thrown @ design.T + s * rng.standard_normal((2_000_000, 3))
    kept = thrown[np.all((low <= seen) & (seen <= high), axis=1)]
    sites = Sites(low, high, np.full((1, 3), s), np.ones(3, dtype=bool))
    found = fit(design[None], sites)
    assert found.log_evidence[0] == pytest.approx(np.log(len(kept) / 2e6), abs=0.03)
    drawn, share = draws(design[None], sites, found, 4000, rng)
    for quantile in (0.05, 0.95):
        order = np.argsort(drawn[0, :, 1])
        at = np.searchsorted(np.cumsum(share[0][order]), quantile)
        assert drawn[0][order[at], 1] == pytest.approx(np.quantile(kept[:, 1], quantile), abs=0.02)


@pytest.mark.parametrize(("a", "b"), [(-1.0, 2.0), (8.0, 9.0), (-30.0, -29.5), (-np.inf, -3.0), (2.0, np.inf)])
def test_log_between_far_out(a, b):
    # a high-precision witness is not needed: in the tail, the survival function has the digits
    expected = np.log(norm.sf(a) - norm.sf(b)) if a > 0 else np.log(norm.cdf(b) - norm.cdf(a))
    assert log_between(np.array(a), np.array(b)) == pytest.approx(expected, rel=1e-6)


def test_play_loses_a_reversal():
    screws = np.array([[0.0], [1.0], [0.9], [0.7], [1.0]])
    # worked by hand for a play of 0.2: forward 0.1 behind, standing still for 0.2, then 0.1 behind the other way
    assert follow_all(screws, np.array([0.2]))[:, 0] == pytest.approx([0.0, 0.9, 0.9, 0.8, 0.9])


def mechanism(slopes, low, high, base, play=0.01):
    slopes = np.array(slopes, dtype=float)
    J, K = slopes.shape
    truth = AdjusterTruth(np.array(base), slopes, 0 * slopes, np.full(K, play), np.full(J, 0.003), 0.02, np.zeros(J))
    stated = np.full(K, play), np.full(J, 0.006)
    return Mechanism(truth, np.array(low), np.array(high), np.full(K, 0.5), *stated)


def follow(m, seed=1):
    whys = []
    log = follow_advice(m, np.random.default_rng(seed), 9, lambda n, truth, advice: whys.append(advice.why))
    return log, whys[-1]


def test_an_idle_knob_is_found_out():
    log, why = follow(mechanism([[0.0]], [0.2], [0.28], [0.42]))
    assert log.state == "cannot"
    assert "screw 1: turning moves no reading" in why
    assert log.moves <= 4


def test_an_idle_knob_beside_a_good_one_does_no_harm():
    log, _ = follow(mechanism([[0.3, 0.0]], [0.2], [0.28], [0.42]))
    assert (log.state, log.inside) == ("done", True)


def test_an_idle_knob_that_is_needed_is_named():
    log, why = follow(mechanism([[0.3, 0.0], [0.1, 0.0]], [0.2, 0.6], [0.28, 0.7], [0.42, 0.5]))
    assert log.state == "cannot"
    assert "screw 2 moves no reading" in why


def test_limits_that_conflict_are_named():
    log, why = follow(mechanism([[0.3], [0.3]], [0.2, 0.6], [0.28, 0.68], [0.3, 0.9]))
    assert log.state == "cannot"
    assert "reading 1" in why
    assert "reading 2" in why


def test_two_knobs_that_do_the_same_are_no_trouble():
    log, _ = follow(mechanism([[0.3, 0.3], [0.2, 0.2]], [0.2, 0.6], [0.28, 0.7], [0.48, 0.8]))
    assert (log.state, log.inside) == ("done", True)
    assert log.moves <= 6


def test_a_stated_pitch_saves_the_probe():
    knobs, targets = (Knob("screw", "turn", 0.5),), (Target("gap", "mm", 0.2, 0.28, 0.006),)
    trials = (Trial((0.0,), (Seen(low=0.40, high=0.42),)),)
    known = Problem(knobs, targets, trials, (Expectation(0, 0, -0.4, 0.02),))
    assert advise(Problem(knobs, targets, trials)).state == "probe"
    advice = advise(known)
    assert advice.state == "move"
    assert advice.move["screw"] == pytest.approx(0.17 / 0.4, abs=0.05)


def test_a_pair_that_straddles_an_end_is_not_measured_for_ever():
    knobs, targets = (Knob("screw", "turn", 0.5),), (Target("gap", "mm", 0.2, 0.28, 0.006),)
    here = Trial((0.0,), (Seen(low=0.19, high=0.21),))
    assert advise(Problem(knobs, targets, (here,))).move
    number = Trial((0.0,), (Seen(0.203, 0.002),))
    assert not advise(Problem(knobs, targets, (number,))).move
    assert (
        advise(Problem(knobs, targets, (number, number))).move
        or advise(Problem(knobs, targets, (number, number))).state == "done"
    )


def test_step_limits_and_ends_are_kept():
    knobs = (Knob("screw", "turn", 0.1, low=-0.05, high=0.3),)
    trials = [Trial((0.0,), (Seen(0.5, 0.001),)), Trial((0.05,), (Seen(0.48, 0.001),))]
    for _ in range(3):
        advice = advise(Problem(knobs, (Target("gap", "mm", 0.2, 0.24, 0.001),), tuple(trials)))
        at = trials[-1].at[0] + advice.move.get("screw", 0.0)
        assert abs(advice.move.get("screw", 0.0)) <= 0.1 + 1e-9
        assert -0.05 - 1e-9 <= at <= 0.3 + 1e-9
        trials.append(Trial((at,), (Seen(0.5 - 0.4 * at, 0.001),)))
    assert advise(Problem(knobs, (Target("gap", "mm", 0.2, 0.24, 0.001),), tuple(trials))).state == "cannot"


def test_more_readings_than_knobs_and_many_knobs():
    """Six knobs and twelve readings give an answer of the right shape in reasonable time."""
    rng = np.random.default_rng(2)
    knobs = tuple(Knob(f"k{n}", "turn", 0.5, 0.02) for n in range(6))
    targets = tuple(Target(f"r{n}", "mm", 0.2, 0.3, 0.01) for n in range(12))
    trials = tuple(
        Trial(tuple(map(float, rng.uniform(-0.5, 0.5, 6))), tuple(Seen(float(v)) for v in rng.uniform(0, 0.5, 12)))
        for _ in range(4)
    )
    advice = advise(Problem(knobs, targets, trials))
    assert set(advice.predicted) == {t.name for t in targets}
    assert 0 <= advice.sure <= 1
