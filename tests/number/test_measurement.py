"""Readings, limits and verdicts."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tapewright.number import Limit, Reading, Source, Standing, State, judge, judge_interval, missing

SOURCE = Source("made-up example", "", Standing.OWNER)
GAP = Limit("example gap", 0.10, 0.20, "mm", SOURCE)
finite = st.floats(-1e6, 1e6)


@pytest.mark.parametrize(
    ("value", "u", "state"),
    [
        (0.15, 0.01, State.WITHIN),
        (0.12, 0.01, State.WITHIN),  # U just touches the low end
        (0.1199, 0.01, State.NOT_SHOWN),
        (0.0801, 0.01, State.NOT_SHOWN),
        (0.0799, 0.01, State.OUTSIDE),
        (0.2201, 0.01, State.OUTSIDE),
        (0.15, None, State.NOT_SHOWN),
    ],
)
def test_guard_band(value, u, state):
    assert judge(Reading(value, u, "mm"), GAP).state is state


def test_a_missing_reading_is_not_shown_and_says_why():
    verdict = judge(missing("mm", "the leaf does not reach"), GAP)
    assert (verdict.state, verdict.why) == (State.NOT_SHOWN, "the leaf does not reach")


@given(value=finite, u=st.floats(0, 1e3), low=finite, high=finite)
def test_judging_a_reading_is_judging_its_interval(value, u, low, high):
    assume(low <= high)
    limit = Limit("x", low, high, "V", SOURCE)
    assert judge(Reading(value, u, "V"), limit).state is judge_interval(value - 2 * u, value + 2 * u, limit).state


def test_a_go_no_go_interval_without_an_end():
    assert judge_interval(0.21, math.inf, GAP).state is State.OUTSIDE
    assert judge_interval(0.15, math.inf, GAP).state is State.NOT_SHOWN


def test_units_must_agree():
    with pytest.raises(ValueError, match="is in mm, the reading in inch"):
        judge(Reading(0.1, 0.1, "inch"), GAP)


@pytest.mark.parametrize(("low", "high"), [(None, None), (2.0, 1.0), (math.nan, 1.0), (None, math.inf)])
def test_a_limit_that_limits_nothing_is_refused(low, high):
    with pytest.raises(ValueError, match="limit 'x'"):
        Limit("x", low, high, "mm", SOURCE)


@pytest.mark.parametrize(("value", "u"), [(math.nan, 0.1), (1.0, -0.1), (1.0, math.inf)])
def test_a_reading_must_be_a_number(value, u):
    with pytest.raises(ValueError, match="must be finite"):
        Reading(value, u, "mm")


@pytest.mark.parametrize(
    ("reading", "text"),
    [
        (Reading(21.9812, 0.0213, "ms"), "21.98 ± 0.04 ms"),
        (Reading(21.9812, 0.008, "ms"), "21.981 ± 0.016 ms"),
        (Reading(120.4, 3.2, "V"), "120 ± 6 V"),
        (Reading(163.24, 1e-7, "ms"), "163.2400 ± <0.0001 ms"),
        (missing("mm", "no gauge fits"), "not known (no gauge fits)"),
    ],
)
def test_readings_show_the_digits_their_doubt_allows(reading, text):
    assert str(reading) == text


def test_a_reading_that_rounds_to_nothing_has_no_sign():
    assert str(Reading(-0.001, 0.05, "ms")) == "0.00 ± 0.10 ms"
    assert str(Reading(-0.2, 0.05, "ms")) == "-0.20 ± 0.10 ms"
