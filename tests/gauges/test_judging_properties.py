"""Judging held against brute force: a verdict must be what every true value that the readings allow would say.

A sign that is turned round in a comparison changes at least one of these answers.
"""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapewright.gauges.checking import check
from tapewright.gauges.journal import Entry
from tapewright.gauges.requirement import Ends, LimitKind, Requirement, Sheet, Stage
from tapewright.number import Source, Standing

SOURCE = Source("made-up example", "", Standing.OWNER)
#: hundredths, so that an end that is only touched is touched exactly
hundredths = st.integers(-40, 40).map(lambda n: n / 100)
pairs = st.tuples(hundredths, hundredths).map(sorted)
FAR = 1e6


def verdict_of(kind, low, high, entries, positions=()):
    r = Requirement("r", "s", "what", Stage.CLEARANCE, kind, "mm", Ends(low, high), SOURCE, positions=positions)
    return check(Sheet("m", (r,)), tuple(Entry("r", **e) for e in entries)).checked[0].verdict


def by_brute_force(truths):
    """All true values that the readings allow fulfil it, none does, or some do."""
    answers = set(truths)
    return "within" if answers == {True} else "outside" if answers == {False} else "not shown"


def between(low, high, count=81):
    """True values between two gauges, both ends among them; an open end goes far out."""
    low, high = (-FAR if low == -math.inf else low), (FAR if high == math.inf else high)
    return [low + (high - low) * n / (count - 1) for n in range(count)]


def allowed(value, low, high):
    return (low is None or value >= low - 1e-9) and (high is None or value <= high + 1e-9)


@settings(max_examples=150, deadline=None)
@given(limits=pairs, gauges=pairs, open_end=st.sampled_from(["none", "low", "high"]),
       kind=st.sampled_from([LimitKind.BOTH, LimitKind.MIN, LimitKind.MAX, LimitKind.FLUSH]))  # fmt: skip
def test_a_pair_of_gauges_says_what_every_value_between_them_says(limits, gauges, open_end, kind):
    low, high = limits
    a, b = (-math.inf if open_end == "low" else gauges[0]), (math.inf if open_end == "high" else gauges[1])
    ends = {LimitKind.BOTH: (low, high), LimitKind.MIN: (low, None), LimitKind.MAX: (None, high),
            LimitKind.FLUSH: (None, abs(high))}[kind]  # fmt: skip
    found = verdict_of(kind, *ends, [{"low": a, "high": b}])
    judged = (-ends[1], ends[1]) if kind is LimitKind.FLUSH else ends
    values = between(a, b)
    if open_end == "none":  # every hundredth, so that a limit inside the pair is met
        values += [n / 100 for n in range(round(a * 100), round(b * 100) + 1)]
    elif all(end is None or a < end < b for end in judged):
        values += [end for end in judged if end is not None]
    assert found.state.value == by_brute_force(allowed(v, *judged) for v in values)


@settings(max_examples=150, deadline=None)
@given(a=pairs, b=pairs, most=st.integers(0, 40).map(lambda n: n / 100))
def test_alike_within_says_what_every_two_values_say(a, b, most):
    entries = [{"low": x[0], "high": x[1], "position": p} for x, p in ((a, "left"), (b, "right"))]
    found = verdict_of(LimitKind.EQUAL_WITHIN, None, most, entries, ("left", "right"))
    truths = [abs(x - y) <= most + 1e-9 for x, y in itertools.product(hundred_steps(a), hundred_steps(b))]
    if {True} == set(truths) or {False} == set(truths):
        assert found.state.value == by_brute_force(truths)
    else:
        assert found.state.value == "not shown"


@settings(max_examples=150, deadline=None)
@given(a=pairs, b=pairs, least=st.integers(0, 40).map(lambda n: n / 100))
def test_one_above_the_other_says_what_every_two_values_say(a, b, least):
    entries = [{"low": x[0], "high": x[1], "position": p} for x, p in ((a, "upper"), (b, "lower"))]
    found = verdict_of(LimitKind.ORDERED, least, None, entries, ("upper", "lower"))
    truths = [x - y >= least - 1e-9 for x, y in itertools.product(hundred_steps(a), hundred_steps(b))]
    assert found.state.value == by_brute_force(truths)


def hundred_steps(pair):
    return [n / 100 for n in range(round(pair[0] * 100), round(pair[1] * 100) + 1)]


@settings(max_examples=100, deadline=None)
@given(
    values=st.tuples(hundredths, hundredths, hundredths),
    doubts=st.tuples(*[st.integers(0, 8)] * 3),
    least=st.integers(0, 30).map(lambda n: n / 100),
    kind=st.sampled_from([LimitKind.EQUAL_WITHIN, LimitKind.ORDERED]),
)
def test_differences_of_numbers_carry_the_doubts_of_both(values, doubts, least, kind):
    """Against the difference worked by hand: value a - b, u = sqrt(ua^2 + ub^2), guarded by 2u (JCGM 100, 5.1.2)."""
    doubts = [d / 100 for d in doubts]
    places = ("a", "b", "c")
    entries = [{"value": v, "u": u, "position": p} for v, u, p in zip(values, doubts, places, strict=True)]
    if kind is LimitKind.EQUAL_WITHIN:
        top, bottom = max(range(3), key=lambda n: values[n]), min(range(3), key=lambda n: values[n])
        difference, u = values[top] - values[bottom], math.hypot(doubts[top], doubts[bottom])
        found = verdict_of(kind, None, least, entries, places)
        low, high = None, least
    else:
        first = min((0, 1), key=lambda n: values[n] - values[n + 1])
        difference, u = values[first] - values[first + 1], math.hypot(doubts[first], doubts[first + 1])
        found = verdict_of(kind, least, None, entries, places)
        low, high = least, None
    if kind is LimitKind.ORDERED and values[0] - values[1] == pytest.approx(values[1] - values[2], abs=1e-9):
        return  # both steps alike: either may be called the worst
    if len({round(v, 6) for v in values}) < 3 and kind is LimitKind.EQUAL_WITHIN:
        return
    assert found.value == pytest.approx(difference, abs=1e-9)
    assert found.u == pytest.approx(u, abs=1e-9)
    ends = [difference - 2 * u, difference + 2 * u]
    inside = [allowed(end, low, high) for end in ends]
    if min(abs(end - (least)) for end in ends) > 1e-6:
        wanted = "within" if all(inside) else "outside" if not any(inside) else "not shown"
        assert found.state.value == wanted


@pytest.mark.parametrize(("kind", "ends", "state"), [
    (LimitKind.EQUAL_WITHIN, (None, 0.05), "not shown"), (LimitKind.ORDERED, (0.0, None), "not shown"),
    (LimitKind.BOTH, (0.0, 0.5), "not shown"),
])  # fmt: skip
def test_a_place_not_measured_is_never_shown(kind, ends, state):
    """And one that is measured outside is outside though the others lack."""
    good = [{"value": 0.30, "u": 0.001, "position": "a"}, {"value": 0.28, "u": 0.001, "position": "b"}]
    assert verdict_of(kind, *ends, good, ("a", "b", "c")).state.value == state
    bad = [{"value": -0.9, "u": 0.001, "position": "a"}, {"value": 0.9, "u": 0.001, "position": "b"}]
    assert verdict_of(kind, *ends, bad, ("a", "b", "c")).state.value == "outside"


def test_one_that_may_touch_is_not_shown_clear():
    for low, state in ((0.0, "not shown"), (-0.01, "not shown"), (0.01, "within")):
        assert verdict_of(LimitKind.NEAR_NOT_TOUCHING, None, 0.2, [{"low": low, "high": 0.05}]).state.value == state
    assert verdict_of(LimitKind.NEAR_NOT_TOUCHING, None, 0.2, [{"value": 0.02, "u": 0.01}]).state.value == "not shown"
    assert verdict_of(LimitKind.NEAR_NOT_TOUCHING, None, 0.2, [{"value": 0.03, "u": 0.01}]).state.value == "within"


def test_the_worst_place_is_the_one_with_the_least_room():
    found = verdict_of(LimitKind.BOTH, 0.0, 0.5, [
        {"value": 0.30, "u": 0.001, "position": "a"}, {"value": 0.45, "u": 0.001, "position": "b"},
        {"value": 0.10, "u": 0.001, "position": "c"}], ("a", "b", "c"))  # fmt: skip
    assert found.why.startswith("b: ")
    found = verdict_of(LimitKind.BOTH, 0.0, 0.5, [
        {"value": 0.30, "u": 0.001, "position": "a"}, {"value": 0.45, "u": 0.001, "position": "b"},
        {"value": 0.02, "u": 0.001, "position": "c"}], ("a", "b", "c"))  # fmt: skip
    assert found.why.startswith("c: ")
