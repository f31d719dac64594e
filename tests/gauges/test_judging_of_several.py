"""Comparisons between positions, go/no-go pairs among them, worked by hand: each sign of the arithmetic matters."""

import math

import pytest

from tapewright.gauges.journal import ByEye, Interval
from tapewright.gauges.judging import ends_in_force, judge_evidence, limit_of, positions_of
from tapewright.gauges.requirement import Ends, LimitKind, Requirement, Stage
from tapewright.number import Reading, Source, Standing, State, missing

SOURCE = Source("made-up example", "", Standing.OWNER)
W, OUT, N = State.WITHIN, State.OUTSIDE, State.NOT_SHOWN


def requirement(kind, low=None, high=None, positions=("a", "b", "c"), unit="mm", **more):
    return Requirement(
        "r", "s", "what", Stage.CLEARANCE, kind, unit, Ends(low, high), SOURCE, positions=positions, **more
    )


def judged(kind, low, high, *found, **more):
    r = requirement(kind, low, high, **more)
    return judge_evidence(r, dict(zip(r.positions, found, strict=False)), touched=False)


PAIRS = (Interval(0.30, 0.32), Interval(0.20, 0.21), Interval(0.10, 0.11))


@pytest.mark.parametrize(
    ("high", "state"),
    [
        (0.23, W),  # largest less smallest lies in 0.30 - 0.11 = 0.19 to 0.32 - 0.10 = 0.22
        (0.20, N),
        (0.18, OUT),
    ],
)
def test_a_spread_of_go_no_go_pairs(high, state):
    verdict = judged(LimitKind.EQUAL_WITHIN, None, high, *PAIRS)
    assert (verdict.state, verdict.value) == (state, pytest.approx((0.19 + 0.22) / 2))
    assert judged(LimitKind.EQUAL_WITHIN, None, high, *PAIRS[::-1]).state is state  # whichever stands first


@pytest.mark.parametrize(("low", "state"), [(0.08, W), (0.10, N), (0.12, OUT)])
def test_steps_of_go_no_go_pairs(low, state):
    """The smallest step is b less c: 0.20 - 0.11 = 0.09 to 0.21 - 0.10 = 0.11; a less b is 0.09 to 0.12."""
    verdict = judged(LimitKind.ORDERED, low, None, *PAIRS)
    assert (verdict.state, verdict.value) == (state, pytest.approx(0.10))
    assert judged(LimitKind.ORDERED, low, None, *PAIRS[::-1]).state is OUT


def test_the_difference_of_two_readings_has_both_doubts():
    found = (Reading(0.20, 0.03, "mm"), Reading(0.10, 0.04, "mm"))
    verdict = judged(LimitKind.EQUAL_WITHIN, None, 0.25, *found, positions=("a", "b"))
    assert (verdict.value, verdict.u) == (pytest.approx(0.10), pytest.approx(0.05))
    assert verdict.state is W
    assert judged(LimitKind.EQUAL_WITHIN, None, 0.19, *found, positions=("a", "b")).state is N


@pytest.mark.parametrize(
    ("first", "second", "high", "state", "value"),
    [
        (Reading(0.20, 0.01, "mm"), Interval(0.10, 0.11), 0.13, W, 0.095),  # 0.18 - 0.11 to 0.22 - 0.10
        (Reading(0.20, 0.01, "mm"), Interval(0.10, 0.11), 0.06, OUT, 0.095),
        (Interval(0.20, math.inf), Interval(0.10, 0.11), 0.08, OUT, None),  # 0.09 at the least
        (Interval(0.20, math.inf), Interval(0.10, 0.11), 0.10, N, None),
        (Interval(0.20, 0.21), Interval(-math.inf, 0.11), 0.08, OUT, None),
        (Reading(0.20, None, "mm"), Interval(0.10, 0.11), 0.5, N, None),
        (Reading(0.20, None, "mm"), Reading(0.10, 0.01, "mm"), 0.5, N, 0.10),
        (Reading(0.20, 0.01, "mm"), Reading(0.10, None, "mm"), 0.5, N, 0.10),
        (missing("mm", "no leaf"), Reading(0.10, 0.01, "mm"), 0.5, N, None),
        (Reading(0.10, 0.01, "mm"), missing("mm", "no leaf"), 0.5, N, None),
        (ByEye(True), Reading(0.10, 0.01, "mm"), 0.5, N, None),
    ],
)
def test_a_spread_of_unlike_evidence(first, second, high, state, value):
    for found in ((first, second), (second, first)):
        verdict = judged(LimitKind.EQUAL_WITHIN, None, high, *found, positions=("a", "b"))
        assert verdict.state is state
        assert verdict.value == (None if value is None else pytest.approx(value))


def test_what_is_missing_of_a_comparison_is_named_unless_it_is_outside_already():
    two = judged(LimitKind.EQUAL_WITHIN, None, 0.23, *PAIRS[:2])
    assert (two.state, two.why) == (N, "not measured yet: c")
    assert judged(LimitKind.EQUAL_WITHIN, None, 0.05, *PAIRS[:2]).state is OUT
    assert judged(LimitKind.ORDERED, 0.05, None, *PAIRS[:2]).why == "not measured yet: c"
    assert judged(LimitKind.ORDERED, 0.5, None, *PAIRS[:2]).state is OUT
    for kind, ends in ((LimitKind.EQUAL_WITHIN, (None, 0.1)), (LimitKind.ORDERED, (0.1, None))):
        assert judged(kind, *ends).why == "not measured yet"
    assert judged(LimitKind.ORDERED, 0.05, None, PAIRS[0]).why == "not measured yet"
    r = requirement(LimitKind.ORDERED)
    assert judge_evidence(r, {"a": PAIRS[0], "c": PAIRS[2]}, touched=False).state is N  # no two neighbours


def test_an_order_seen_by_eye_needs_no_number():
    assert judged(LimitKind.ORDERED, None, None, ByEye(True), ByEye(True), ByEye(True)).state is W
    assert judged(LimitKind.ORDERED, None, None, ByEye(True), ByEye(False), ByEye(True)).state is OUT
    assert judged(LimitKind.ORDERED, None, None, ByEye(True), ByEye(True)).state is N


def readings(*values, u=0.001):
    return [Reading(value, u, "mm") for value in values]


@pytest.mark.parametrize(
    ("values", "worst", "value"),
    [
        ((0.15, 0.11, 0.16), "b", 0.11),  # 0.01 from the low end
        ((0.15, 0.13, 0.195), "c", 0.195),  # 0.005 from the high end
        ((0.25, 0.30, 0.15), "b", 0.30),  # the further outside
        ((0.05, 0.15, 0.02), "c", 0.02),
        ((0.15, 0.25, 0.100), "b", 0.25),  # outside before not shown
        ((0.15, 0.101, 0.16), "b", 0.101),  # not shown before within
    ],
)
def test_the_worst_position_is_the_verdict_and_is_named(values, worst, value):
    verdict = judged(LimitKind.BOTH, 0.1, 0.2, *readings(*values))
    assert verdict.why.startswith(f"{worst}: ")
    assert verdict.value == value


@pytest.mark.parametrize(
    ("kind", "ends", "values", "value"),
    [(LimitKind.MIN, (0.1, None), (0.3, 0.2, 0.4), 0.2), (LimitKind.MAX, (None, 0.5), (0.3, 0.2, 0.4), 0.4)],
)
def test_the_worst_position_of_a_limit_with_one_end(kind, ends, values, value):
    assert judged(kind, *ends, *readings(*values)).value == value


def test_a_position_without_a_value_is_worse_than_one_that_is_not_shown():
    verdict = judged(LimitKind.BOTH, 0.1, 0.2, *readings(0.101, 0.15))
    assert (verdict.why, verdict.value) == ("c: not measured yet", None)


@pytest.mark.parametrize(
    ("found", "state"),
    [
        (Reading(0.02, 0.01, "mm"), N),  # 0.02 - 2 x 0.01: they may just touch
        (Reading(0.021, 0.01, "mm"), W),
        (Interval(0.0, 0.03), N),
        (Interval(0.001, 0.03), W),
        (Interval(0.21, 0.3), OUT),
        (ByEye(True), W),
        (ByEye(False), OUT),
    ],
)
def test_near_but_not_touching(found, state):
    r = requirement(LimitKind.NEAR_NOT_TOUCHING, None, 0.2, positions=())
    assert judge_evidence(r, {"": found}, touched=False).state is state


def test_by_eye_is_one_or_nought_of_one():
    r = requirement(LimitKind.BY_EYE, positions=(), unit="yes")
    yes, no = (judge_evidence(r, {"": ByEye(answer)}, touched=False) for answer in (True, False))
    assert (yes.value, yes.why, no.value, no.why) == (1.0, "seen by eye", 0.0, "not so, by eye")
    number = judge_evidence(r, {"": Reading(1.0, 0.01, "mm")}, touched=False)
    assert (number.state, number.why) == (N, "this asks for yes or no, not for a number")
    assert judge_evidence(r, {}, touched=False).why == "not measured yet"


@pytest.mark.parametrize(
    ("kind", "ends", "by_eye", "low", "high", "unit"),
    [
        (LimitKind.BOTH, (0.1, 0.2), False, 0.1, 0.2, "mm"),
        (LimitKind.BOTH, (0.1, 0.2), True, 1.0, None, "yes"),
        (LimitKind.FLUSH, (None, 0.05), False, -0.05, 0.05, "mm"),
        (LimitKind.FLUSH, (None, None), False, 1.0, None, "yes"),
        (LimitKind.NEAR_NOT_TOUCHING, (None, 0.2), False, 0.0, 0.2, "mm"),
        (LimitKind.NEAR_NOT_TOUCHING, (None, None), False, 0.0, None, "mm"),
        (LimitKind.ORDERED, (None, None), False, 0.0, None, "mm"),
        (LimitKind.ORDERED, (0.15, None), False, 0.15, None, "mm"),
        (LimitKind.MIN, (0.1, None), False, 0.1, None, "mm"),
        (LimitKind.MAX, (None, 0.2), False, None, 0.2, "mm"),
        (LimitKind.ALL_OF, (None, None), False, 1.0, None, "yes"),
    ],
)
def test_the_limit_that_is_judged_against(kind, ends, by_eye, low, high, unit):
    limit = limit_of(requirement(kind, *ends), touched=False, by_eye=by_eye)
    assert (limit.low, limit.high, limit.unit, limit.source) == (low, high, unit, SOURCE)


def test_the_tighter_limits_hold_once_touched():
    r = requirement(LimitKind.BOTH, 0.1, 0.2, readjust=Ends(0.14, 0.16))
    assert ends_in_force(r, touched=True) == Ends(0.14, 0.16)
    assert ends_in_force(r, touched=False) == Ends(0.1, 0.2)
    assert ends_in_force(requirement(LimitKind.BOTH, 0.1, 0.2), touched=True) == Ends(0.1, 0.2)
    assert limit_of(r, touched=True).low == 0.14


def test_positions():
    assert positions_of(requirement(LimitKind.BOTH, 0.1, 0.2)) == ("a", "b", "c")
    assert positions_of(requirement(LimitKind.BOTH, 0.1, 0.2, positions=())) == ("",)
    assert judge_evidence(requirement(LimitKind.NONE_KNOWN), {}, touched=False) is None


def test_a_pair_without_an_end_stands_where_its_other_end_is():
    """0.30 less 0.11 is 0.19 at the least, whatever b may be; and 0.30 less 0.02 is outside whatever c may be."""
    high = judged(LimitKind.EQUAL_WITHIN, None, 0.15, Interval(0.30, 0.31), Interval(0.20, math.inf), PAIRS[2])
    found = Interval(0.30, 0.31), Interval(0.01, 0.02), Interval(-math.inf, 0.1)
    low = judged(LimitKind.EQUAL_WITHIN, None, 0.15, *found)
    assert (high.state, low.state) == (OUT, OUT)


def test_a_pair_stands_among_readings_at_its_middle():
    """b is the largest: 0.14 less 0.112 is 0.028 at the least."""
    found = Reading(0.12, 0.001, "mm"), Interval(0.14, 0.16), Reading(0.11, 0.001, "mm")
    verdict = judged(LimitKind.EQUAL_WITHIN, None, 0.02, *found)
    assert (verdict.state, verdict.value) == (OUT, pytest.approx((0.028 + 0.052) / 2))
