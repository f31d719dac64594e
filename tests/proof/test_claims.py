"""How many clean characters a claim takes, and the bound on wrong ones, against outside figures."""

import pytest
from scipy.stats import binomtest
from statsmodels.stats.proportion import proportion_confint

from proof.practice_book import Record
from tapewright.proof.claims import claim, shown_one_in
from tapewright.proof.error_counts import error_counts
from tapewright.proof.lines import evidence_of

# Zero-failure sample sizes of the tables for attribute acceptance sampling at 95 % confidence (from memory):
# 95 % reliability 59, 99 % 299, 90 % 29, 99.9 % 2995.
PUBLISHED = {20: 59, 100: 299, 10: 29, 1000: 2995}


@pytest.mark.parametrize(("one_in", "n"), PUBLISHED.items())
def test_clean_characters_are_those_of_the_published_tables(one_in, n):
    assert claim(one_in, 0.163, 2.54).clean_characters == n


@pytest.mark.parametrize("one_in", [2, 7, 100, 333, 5000])
def test_clean_characters_are_the_fewest_by_the_binomial_test_of_scipy(one_in):
    n = claim(one_in, 0.163, 2.54).clean_characters
    assert binomtest(0, n, 1 / one_in, alternative="less").pvalue <= 0.05 * (1 + 1e-9)
    assert n == 1 or binomtest(0, n - 1, 1 / one_in, alternative="less").pvalue > 0.05


def test_rule_of_three_is_near_the_exact_figure():
    """3/p against -ln(0.05)/p = 2.996/p: within 1 % for p below 1 %."""
    for one_in in (100, 1000, 10_000):
        made = claim(one_in, 0.163, 2.54)
        assert made.rule_of_three == pytest.approx(made.clean_characters, rel=0.01)


def test_time_and_tape_by_hand():
    """2995 characters of 163.24 ms and 2.54 mm: 488.9 s and 7.607 m, worked by hand."""
    made = claim(1000, 0.16324, 2.54)
    assert made.seconds == pytest.approx(488.9, abs=0.05)
    assert made.tape_m == pytest.approx(7.607, abs=0.001)


def errors(sent, wrong, extra=0, sha="a" * 64):
    return {"format": "tapewright/line/1", "source": {"sha256": sha},
            "errors": {"sent": sent, "wrong": wrong, "kinds": {"extra": extra}}}


def counted(*results):
    record = Record()
    for result in results:
        record.measured("line", "as left", result)
    return error_counts(evidence_of(record.all()), ())[0]


@pytest.mark.parametrize(("wrong", "sent", "extra"), [(0, 243, 0), (3, 1000, 0), (2, 400, 2), (50, 60, 0)])
def test_bound_is_that_of_scipy_and_of_statsmodels(wrong, sent, extra):
    found = counted(errors(sent, wrong, extra))
    n = sent + extra
    exact = binomtest(wrong, n, alternative="less").proportion_ci(0.95, method="exact").high
    assert found.n == n
    assert found.upper_95 == pytest.approx(exact, rel=1e-9)
    assert found.upper_95 == pytest.approx(proportion_confint(wrong, n, alpha=0.10, method="beta")[1], rel=1e-9)


def test_one_in_never_claims_more_than_is_shown():
    found = counted(errors(243, 0))
    assert 1 / found.one_in >= found.upper_95
    assert 1 / (found.one_in + 1) < found.upper_95
    assert shown_one_in(1.0) == 1


def test_captures_add_up_and_one_raw_file_counts_once():
    assert counted(errors(100, 1), errors(200, 0, sha="b" * 64)).n == 300
    assert counted(errors(100, 1), errors(100, 0)).n == 100
