"""One figure against another: the doubt of the difference, and one of three answers."""

import math

import numpy as np
import pytest
from statsmodels.stats.proportion import confint_proportions_2indep

from tapewright.book.side_by_side.difference import State, difference
from tapewright.book.side_by_side.figure import Basis, Figure, Group, share_of
from tapewright.number import Reading, missing


def figure(value, u, *, unit="ms", **rest):
    return Figure(Group.SPEED, "unit", Reading(value, u, unit), **rest)


def apart(a, b, *, one_instrument=False):
    return difference(a, b, one_instrument=one_instrument)


def test_independent_doubts_add_in_squares():
    row = apart(figure(10.0, 0.3), figure(10.9, 0.4))
    # JCGM 100:2008, equation (10) for a difference, worked by hand: sqrt(0.09 + 0.16) = 0.5
    assert row.difference.value == pytest.approx(0.9)
    assert row.difference.u == pytest.approx(0.5)
    assert (row.state, row.in_u) == (State.NOT_SHOWN, pytest.approx(1.8))


@pytest.mark.parametrize(("b", "state"), [(11.0, State.NOT_SHOWN), (11.001, State.DIFFERS), (8.999, State.DIFFERS)])
def test_both_sides_of_2u(b, state):
    assert apart(figure(10.0, 0.3), figure(b, 0.4)).state is state


def test_what_one_clock_brings_to_both_goes_out_of_the_difference():
    a = figure(22.0, math.hypot(0.003, 0.022), shared_u=0.022, shared="the recorder's clock")
    b = figure(22.2, math.hypot(0.004, 0.0222), shared_u=0.0222, shared="the recorder's clock")
    one, two = apart(a, b, one_instrument=True), apart(a, b)
    assert one.difference.u == pytest.approx(math.sqrt(0.003**2 + 0.004**2 + 0.0002**2))
    assert two.difference.u == pytest.approx(math.sqrt(0.005**2 + 0.022**2 + 0.0222**2))
    assert (one.shared, two.shared) == ("the recorder's clock", "")


def test_shared_doubt_against_correlated_draws():
    """Outside check: the spread of differences of numbers that numpy draws with a common factor."""
    generator = np.random.default_rng(7)
    clock = generator.normal(scale=1e-3, size=200_000)
    a = 22.0 * (1 + clock) + generator.normal(scale=0.003, size=clock.size)
    b = 25.0 * (1 + clock) + generator.normal(scale=0.004, size=clock.size)
    row = apart(
        figure(22.0, math.hypot(0.003, 0.022), shared_u=0.022, shared="clock"),
        figure(25.0, math.hypot(0.004, 0.025), shared_u=0.025, shared="clock"),
        one_instrument=True,
    )
    assert row.difference.u == pytest.approx(float(np.std(b - a)), rel=0.01)


def test_no_doubt_at_all_and_the_same_value_is_no_difference():
    assert apart(figure(0.1 + 0.2, 0.0), figure(0.3, 0.0)).state is State.NOT_SHOWN


@pytest.mark.parametrize(
    ("a", "b", "why"),
    [
        (None, figure(1, 0.1), "A has no such reading"),
        (figure(1, 0.1), None, "B has no such reading"),
        (figure(1, None), figure(1, 0.1), "the doubt of A is not known"),
        (figure(1, 0.1), figure(1, 0.1, unit="percent"), "A is in ms, B in percent"),
        (figure(1, 0.1), figure(1, 0.1, alone="the speed is not proven"), "B: the speed is not proven"),
        (Figure(Group.SPEED, "unit", missing("ms", "the line never moves")), figure(1, 0.1), "A: the line never moves"),
        (
            figure(1, 0.1, basis=Basis("made for", 45.45, "Bd", 0.005)),
            figure(1, 0.1, basis=Basis("made for", 50.0, "Bd", 0.005)),
            "A made for 45.45 Bd, B made for 50 Bd",
        ),
    ],
)
def test_what_cannot_be_compared_says_why(a, b, why):
    row = apart(a, b)
    assert (row.state, row.why, row.difference) == (State.CANNOT, why, None)


def gauge(low, high):
    return Figure(Group.GAUGES, "gap", missing("mm", "-"), interval=(low, high))


def test_go_no_go_pairs_that_overlap_show_nothing():
    row = apart(gauge(0.40, 0.42), gauge(0.41, 0.43))
    assert (row.state, row.why) == (State.NOT_SHOWN, "the intervals overlap")
    row = apart(gauge(0.40, 0.42), gauge(0.43, 0.45))
    assert (row.state, row.difference.value) == (State.DIFFERS, pytest.approx(0.03))


def test_an_open_interval_has_no_number_but_an_answer():
    row = apart(gauge(-math.inf, 0.05), gauge(0.10, 0.12))
    assert (row.state, row.difference, row.in_u) == (State.DIFFERS, None, None)
    assert apart(gauge(-math.inf, 0.15), gauge(0.10, 0.12)).state is State.NOT_SHOWN


def test_a_number_against_an_interval():
    number = Figure(Group.GAUGES, "gap", Reading(0.46, 0.01, "mm"))
    assert apart(gauge(0.40, 0.42), number).state is State.DIFFERS
    assert apart(gauge(0.40, 0.45), number).state is State.NOT_SHOWN


@pytest.mark.parametrize(("a", "b", "state"), [(True, False, State.DIFFERS), (True, True, State.NOT_SHOWN)])
def test_yes_and_no(a, b, state):
    one, other = (Figure(Group.COIL, "moves", missing("yes", "-"), yes=answer) for answer in (a, b))
    assert apart(one, other).state is state


@pytest.mark.parametrize(("one", "other"), [((0, 40), (5, 50)), ((3, 120), (9, 110)), ((1, 10), (1, 12))])
def test_shares_against_a_general_statistics_library(one, other):
    """Outside check: statsmodels' interval after Agresti and Caffo, at the level that 2u stands for."""
    low, high = confint_proportions_2indep(*other, *one, method="agresti-caffo", alpha=math.erfc(2 / math.sqrt(2)))
    a, b = (Figure(Group.TAPE, "partial", share_of(*counts)) for counts in (one, other))
    d = apart(a, b).difference
    assert (d.value - 2 * d.u, d.value + 2 * d.u) == (pytest.approx(100 * low), pytest.approx(100 * high))
