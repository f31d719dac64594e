"""Ways held against each other: a general library's weighted mean and chi-square, aliases, false alarms."""

from fractions import Fraction

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.weightstats import DescrStatsW

from tapewright.motor.agreement import agree
from tapewright.motor.drive_train import Train
from tapewright.motor.strobe import Drift, Strobe
from tapewright.motor.ways import Way, by_stopwatch, by_strobe
from tapewright.number import Reading


def way(name, error, u, rivals=()):
    return Way(name, Reading(error, u, "percent"), tuple(rivals), "", "")


def test_weighted_mean_and_chi_square_as_a_general_library_has_them():
    rng = np.random.default_rng(2)
    for _ in range(20):
        u = rng.uniform(0.05, 0.6, 4)
        x = rng.normal(0.4, u)
        found = agree([way(str(n), *pair) for n, pair in enumerate(zip(x, u, strict=True))])
        witness = DescrStatsW(x, weights=1 / u**2)
        chi2 = float(np.sum(((x - witness.mean) / u) ** 2))
        assert found.chi2 == pytest.approx(chi2)
        assert found.probability == pytest.approx(stats.chi2.sf(chi2, 3))
        if found.consistent:
            assert found.error_percent.value == pytest.approx(witness.mean)
            assert found.error_percent.u == pytest.approx(witness.sum_weights**-0.5)


def test_false_alarms_and_coverage():
    """Of sets of ways that are all right, about 5 in 100 are called inconsistent; the mean's 2u holds 95 of 100."""
    rng, n = np.random.default_rng(3), 3000
    alarms = covered = 0
    for _ in range(n):
        u = rng.uniform(0.05, 0.6, 3)
        seen = zip("abc", rng.normal(1, u), u, strict=True)
        found = agree([way(name, float(error), float(doubt)) for name, error, doubt in seen])
        alarms += not found.consistent
        covered += found.consistent and abs(found.error_percent.value - 1) <= found.error_percent.expanded
    assert 0.035 < alarms / n < 0.065
    assert 0.93 < covered / (n - alarms) < 0.98


def test_the_odd_one_is_named_and_no_mean_is_given():
    found = agree([way("strobe", 5.0, 0.1), way("stopwatch", 0.1, 0.3), way("line", 0.0, 0.05)])
    assert not found.consistent
    assert found.odd_one == "strobe"
    assert found.error_percent.value is None
    assert [(p.first, p.second) for p in found.pairs if not p.agree] == [("strobe", "stopwatch"), ("strobe", "line")]


def test_a_frozen_pattern_at_half_the_speed_is_seen_through():
    """The pattern also stands still at half the speed (field note); the stopwatch says which it is."""
    fork = Strobe(Fraction(250), 0.0005, 10, Drift(0, 10))
    train = Train((), Fraction(2))
    strobe = by_strobe(fork, train, Fraction(50), on_cam_shaft=False)
    half = by_stopwatch(200, 60.0, Fraction("7.5"), Fraction(50))
    found = agree([strobe, half])
    assert strobe.error_percent.value == pytest.approx(0.0)
    assert found.reread == ("strobe",)
    assert found.error_percent.value == pytest.approx(-50.0, abs=0.05)
    assert agree([strobe, by_stopwatch(200, 30.05, Fraction("7.5"), Fraction(50))]).reread == ()


def test_one_way_alone_is_taken_at_its_word():
    found = agree([way("stopwatch", 0.3, 0.2)])
    assert (found.degrees, found.probability, found.error_percent.value) == (0, 1.0, 0.3)
