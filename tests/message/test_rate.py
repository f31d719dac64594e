"""Clopper-Pearson against statsmodels and against closed forms."""

import math

import pytest
from statsmodels.stats.proportion import proportion_confint

from tapewright.message.rate import characters_to_show, error_rate, rule_of_three


@pytest.mark.parametrize(("wrong", "n"), [(0, 10), (1, 10), (3, 118), (50, 100), (99, 100), (7, 30_000)])
def test_upper_bound_is_that_of_statsmodels(wrong, n):
    # one-sided 95 % is the upper end of the two-sided 90 % interval
    upper = proportion_confint(wrong, n, alpha=0.10, method="beta")[1]
    assert error_rate(wrong, n).upper_95 == pytest.approx(upper, rel=1e-9)


@pytest.mark.parametrize("n", [1, 10, 500, 30_000])
def test_closed_forms(n):
    # nothing wrong: (1 - p)^n = 0.05; one right of n at all: 1 - p^n = 0.05
    assert error_rate(0, n).upper_95 == pytest.approx(1 - 0.05 ** (1 / n), rel=1e-9)
    assert error_rate(n - 1, n).upper_95 == pytest.approx(0.95 ** (1 / n), rel=1e-9)
    assert error_rate(n, n).upper_95 == 1.0


def test_the_bound_means_what_it_says():
    # summing the binomial by hand at the bound gives 5 %
    bound = error_rate(4, 200).upper_95
    chance = sum(math.comb(200, k) * bound**k * (1 - bound) ** (200 - k) for k in range(5))
    assert chance == pytest.approx(0.05, rel=1e-9)


def test_rule_of_three_is_close_and_never_below():
    # common practice, no source: 30 000 clean characters to claim better than 1 in 10 000
    assert rule_of_three(30_000) == pytest.approx(1e-4)
    for n in (30, 300, 3000):
        assert error_rate(0, n).upper_95 <= rule_of_three(n) <= 1.06 * error_rate(0, n).upper_95
    assert rule_of_three(0) == 1.0


def test_how_many_clean_characters_show_a_rate():
    n = characters_to_show(1e-4)
    assert error_rate(0, n).upper_95 <= 1e-4 < error_rate(0, n - 1).upper_95
    assert n == pytest.approx(30_000, rel=0.01)


@pytest.mark.parametrize(("wrong", "n"), [(-1, 3), (4, 3)])
def test_impossible_counts_are_refused(wrong, n):
    with pytest.raises(ValueError, match="cannot be"):
        error_rate(wrong, n)


def test_nothing_sent_shows_nothing():
    assert error_rate(0, 0).upper_95 == 1.0
    assert error_rate(0, 0).rate is None
