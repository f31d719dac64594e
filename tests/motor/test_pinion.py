"""The nearest whole teeth, against trying every pair."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapewright.motor.pinion import pairs

FACTORS = [Fraction(6, 5), Fraction(5, 6), Fraction(11, 10), Fraction(10, 11), Fraction("1.63"), Fraction(1)]


@settings(max_examples=15, deadline=None)
@given(st.integers(8, 60), st.integers(20, 160), st.sampled_from(FACTORS))
def test_the_best_of_each_way_is_found(pinion, gear, factor):
    wanted = Fraction(pinion, gear) * factor
    found = pairs(pinion, gear, factor)

    def best(candidates):
        return min(abs(Fraction(z, g) / wanted - 1) for z, g in candidates)

    alone = best((z, gear) for z in range(1, 300))
    centres = best((z, pinion + gear - z) for z in range(1, pinion + gear))
    anyhow = best((z, g) for g in range(max(1, gear - 8), gear + 9) for z in range(1, 300))
    limit = Fraction(5, 100)
    by_way = {way: [p for p in found if p.way == way] for way in ("pinion alone", "same centres", "any pair")}
    if alone <= limit:
        assert abs(by_way["pinion alone"][0].residual) == alone
    # a pair that fits two ways is named once
    if centres <= limit:
        assert min(abs(p.residual) for p in found if not p.apart_modules) == centres
    if anyhow <= limit:
        assert min(abs(p.residual) for p in found) == anyhow


def test_exact_ratio_is_exact():
    """20:75 made six fifths faster is 24:75, nothing left over. By hand."""
    assert pairs(20, 75, Fraction(6, 5))[0].residual == 0
    assert pairs(20, 75, Fraction(6, 5))[0].pinion == 24


def test_centres_and_undercut():
    """Centre distance (z1 + z2) m / 2: one tooth more is half a module; 17 teeth by 2 / sin^2 20 deg = 17.1."""
    by_teeth = {(p.pinion, p.gear): p for p in pairs(14, 60, Fraction(6, 5))}
    assert by_teeth[17, 60].apart_modules == pytest.approx(1.5)
    assert not by_teeth[17, 60].undercut
    assert by_teeth[16, 60].undercut
