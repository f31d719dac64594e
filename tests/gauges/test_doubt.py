"""The arithmetic of doubt against JCGM 100:2008 and a general uncertainty library; units against a units library."""

import itertools
import math

import pint
import pytest
import uncertainties

from tapewright.gauges.gauge import (
    GAUGES,
    UNITS,
    combined,
    factor_between,
    leaf_stack_u,
    mean_of_repeats,
    rectangular,
    resolution,
    triangular,
)

PINT_NAMES = {
    "um": "micrometer", "in": "inch", "g": "gram * standard_gravity", "oz": "ounce * standard_gravity", "deg": "degree",
    "turn": "turn", "%": "percent", "Bd": "baud", "rpm": "rpm", "count": "count", "yes": "count",
}  # fmt: skip


def test_rectangular_distribution_of_the_gum():
    # JCGM 100:2008 4.4.5: a temperature in 100 +/- 4 degC, all places alike: u = 4 / sqrt 3 = 2.3 degC (from memory)
    assert rectangular(4.0) == pytest.approx(2.3, abs=0.05)


def test_triangular_distribution_of_the_gum():
    # JCGM 100:2008 4.4.6: the same bounds, triangular: 4 / sqrt 6 = 1.6 degC (from memory)
    assert triangular(4.0) == pytest.approx(1.6, abs=0.05)


def test_mean_of_the_gums_twenty_temperatures():
    # JCGM 100:2008 table 1 and 4.4.3 (from memory): 20 readings, mean 100.14 degC, s = 1.489, u of the mean 0.333
    values = [
        96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
        100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
    ]  # fmt: skip
    mean, u = mean_of_repeats(values, 0.0)
    assert mean == pytest.approx(100.145, abs=0.005)
    assert u == pytest.approx(0.333, abs=0.001)


def test_combined_doubt_agrees_with_the_uncertainties_library():
    a, b, c = (uncertainties.ufloat(0.10, u) for u in (0.003, 0.004, 0.012))
    assert combined([0.003, 0.004, 0.012]) == pytest.approx((a + b + c).s, rel=1e-12)


def test_a_leaf_stack_agrees_with_the_uncertainties_library():
    leaves = [uncertainties.ufloat(t, 0.005 / math.sqrt(3)) for t in (0.10, 0.15, 0.05)]
    feel = uncertainties.ufloat(0.0, GAUGES["leaf"].feel)
    assert leaf_stack_u((0.10, 0.15, 0.05)) == pytest.approx((sum(leaves) + feel).s, rel=1e-12)


def test_a_step_reads_to_a_step_over_root_twelve():
    assert resolution(0.02) == pytest.approx(0.02 / math.sqrt(12))


@pytest.mark.parametrize(
    ("unit", "wanted", "factor"),
    # published definitions: international inch and avoirdupois pound (1959), standard gravity (CGPM 1901)
    [("in", "mm", 25.4), ("thou", "mm", 0.0254), ("oz", "g", 28.349523125), ("g", "mN", 9.80665), ("ms", "s", 0.001)],
)
def test_published_definitions(unit, wanted, factor):
    assert factor_between(unit, wanted) == pytest.approx(factor, rel=1e-12)


def test_every_pair_of_units_agrees_with_pint():
    registry = pint.UnitRegistry()
    for a, b in itertools.product(UNITS, UNITS):
        if UNITS[a].family != UNITS[b].family:
            with pytest.raises(ValueError, match="measures"):
                factor_between(a, b)
            continue
        expected = registry.Quantity(1, PINT_NAMES.get(a, a)).to(PINT_NAMES.get(b, b)).magnitude
        assert factor_between(a, b) == pytest.approx(expected, rel=1e-9), (a, b)


def test_an_unknown_unit_is_named():
    with pytest.raises(ValueError, match="'furlong' is not one of the units"):
        factor_between("furlong", "mm")
