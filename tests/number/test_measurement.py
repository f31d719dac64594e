"""Readings, limits and verdicts."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tapewright.number import Limit, Reading, Source, Standing, State, judge, judge_interval, missing
from tapewright.number.reading import decimals_for

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


@pytest.mark.parametrize(
    ("lowest", "highest", "low", "high", "state"),
    [
        (0.0, 0.1, None, 0.2, State.WITHIN),
        (0.3, 0.4, None, 0.2, State.OUTSIDE),
        (0.3, 0.4, 0.2, None, State.WITHIN),
        (0.0, 0.1, 0.2, None, State.OUTSIDE),
        (0.0, 0.0, 0.0, 1.0, State.WITHIN),  # touched exactly, nothing to round
        (0.0, 0.0, -1.0, 0.0, State.WITHIN),
        (-math.inf, 0.0, 0.0, 1.0, State.NOT_SHOWN),  # the value may just touch the low end
        (0.0, math.inf, -1.0, 0.0, State.NOT_SHOWN),
        (0.1 + 0.2, 0.1 + 0.2, None, 0.3, State.WITHIN),  # 0.30000000000000004 in binary
        (0.0, 0.1 + 0.2, 0.0, 0.3, State.WITHIN),
        (-0.1 - 0.2, 0.0, -0.3, 0.0, State.WITHIN),
        (0.3 + 1e-9, 0.3 + 1e-9, None, 0.3, State.OUTSIDE),  # no rounding is that large
        (0.3, 0.3 + 1e-9, None, 0.3, State.NOT_SHOWN),
    ],
)
def test_an_interval_at_the_ends_of_a_limit(lowest, highest, low, high, state):
    assert judge_interval(lowest, highest, Limit("x", low, high, "mm", SOURCE)).state is state


@pytest.mark.parametrize(
    ("lowest", "highest", "value"), [(0.10, 0.16, 0.13), (0.1, math.inf, None), (-math.inf, 0.1, None), (0.1, 0.1, 0.1)]
)
def test_the_value_of_an_interval_is_its_middle_where_it_has_one(lowest, highest, value):
    verdict = judge_interval(lowest, highest, GAP)
    assert verdict.value == (None if value is None else pytest.approx(value))
    assert verdict.u is None


def test_an_interval_with_its_ends_exchanged_is_refused():
    with pytest.raises(ValueError, match="lower end first"):
        judge_interval(0.2, 0.1, GAP)


@pytest.mark.parametrize(
    ("reading", "limit_low", "why"),
    [
        (Reading(0.15, 0.01, "mm"), 0.1, "the reading with its doubt lies inside the limit"),
        (Reading(0.05, 0.01, "mm"), 0.1, "the reading with its doubt lies below the limit"),
        (Reading(0.25, 0.01, "mm"), 0.1, "the reading with its doubt lies above the limit"),
        (Reading(0.11, 0.01, "mm"), 0.1, "the doubt of the reading reaches over the end of the limit"),
        (Reading(0.15, None, "mm"), 0.1, "its uncertainty is not known"),
        (Reading(None, None, "mm"), 0.1, "there is no reading"),
    ],
)
def test_every_verdict_says_why_and_keeps_what_it_judged(reading, limit_low, why):
    limit = Limit("gap", limit_low, 0.2, "mm", SOURCE)
    verdict = judge(reading, limit)
    assert (verdict.why, verdict.value, verdict.u, verdict.limit) == (why, reading.value, reading.u, limit)


def test_a_scaled_reading_keeps_its_relative_doubt():
    turned = Reading(2.0, 0.1, "mm", n=3).scaled(-1000.0, "um")
    assert (turned.value, turned.u, turned.unit, turned.n, turned.expanded) == (-2000.0, 100.0, "um", 3, 200.0)
    assert missing("mm", "no gauge").scaled(2.0, "um") == missing("um", "no gauge")


@pytest.mark.parametrize(
    ("expanded", "digits"), [(0.04, 2), (0.016, 3), (0.02, 2), (6.0, 0), (1.5, 1), (20.0, 0), (1e-7, 6), (0.0001, 5)]
)
def test_the_decimals_that_a_doubt_allows(expanded, digits):
    """One significant digit, two where it begins with 1; never more than six decimals nor fewer than none."""
    assert decimals_for(expanded) == digits
