"""Every kind of limit, the conditions of a reading, test and readjust limits, and JCGM 106's guarded acceptance."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from tapewright.gauges.checking import check
from tapewright.gauges.gauge import GAUGES
from tapewright.gauges.journal import Entry
from tapewright.gauges.requirement import Ends, LimitKind, Requirement, Sheet, Stage
from tapewright.number import Source, Standing, State

SOURCE = Source("made-up example", "", Standing.OWNER)
W, OUT, N = "within", "outside", "not shown"


def requirement(kind=LimitKind.BOTH, low=0.1, high=0.2, unit="mm", **more):
    return Requirement("r", "s", "what", Stage.CLEARANCE, kind, unit, Ends(low, high), SOURCE, **more)


def checked(r, *entries):
    return check(Sheet("m", (r,)), tuple(Entry("r", **e) for e in entries)).checked[0]


@pytest.mark.parametrize(
    ("kind", "ends", "entry", "state"),
    [
        (LimitKind.BOTH, (0.1, 0.2), {"value": 0.15, "u": 0.02}, W),
        (LimitKind.BOTH, (0.1, 0.2), {"value": 0.15, "u": 0.03}, N),
        (LimitKind.BOTH, (0.1, 0.2), {"low": 0.10, "high": 0.12}, W),
        (LimitKind.BOTH, (0.1, 0.2), {"low": 0.08, "high": 0.12}, N),
        (LimitKind.BOTH, (0.1, 0.2), {"low": 0.22, "high": math.inf}, OUT),
        (LimitKind.MIN, (0.1, None), {"low": 0.10, "high": math.inf}, W),
        (LimitKind.MIN, (0.1, None), {"low": -math.inf, "high": 0.09}, OUT),
        (LimitKind.MAX, (None, 0.2), {"value": 0.30, "u": 0.04}, OUT),
        (LimitKind.NEAR_NOT_TOUCHING, (None, 0.2), {"low": 0.0, "high": 0.03}, N),  # the thinnest leaf did not go
        (LimitKind.NEAR_NOT_TOUCHING, (None, 0.2), {"low": 0.03, "high": 0.05}, W),
        (LimitKind.NEAR_NOT_TOUCHING, (None, None), {"eye": True}, W),
        (LimitKind.FLUSH, (None, 0.05), {"value": -0.02, "u": 0.005}, W),
        (LimitKind.FLUSH, (None, 0.05), {"value": -0.08, "u": 0.005}, OUT),
        (LimitKind.FLUSH, (None, None), {"eye": False}, OUT),
        (LimitKind.NOT_TO_BIND, (None, None), {"eye": True}, W),
        (LimitKind.BY_EYE, (None, None), {"eye": False}, OUT),
        (LimitKind.BOTH, (0.1, 0.2), {"value": 0.15}, N),  # neither gauge nor doubt stated
    ],
)  # fmt: skip
def test_one_reading(kind, ends, entry, state):
    assert checked(requirement(kind, *ends), entry).state.value == state


@pytest.mark.parametrize(
    ("kind", "ends", "values", "state"),
    [
        (LimitKind.BOTH, (0.1, 0.2), (0.15, 0.12, 0.18), W),
        (LimitKind.BOTH, (0.1, 0.2), (0.15, 0.12, 0.25), OUT),  # the worst counts
        (LimitKind.BOTH, (0.1, 0.2), (0.15, 0.12), N),  # one not measured
        (LimitKind.BOTH, (0.1, 0.2), (0.25, 0.12), OUT),  # outside already
        (LimitKind.EQUAL_WITHIN, (None, 0.05), (0.10, 0.12, 0.13), W),
        (LimitKind.EQUAL_WITHIN, (None, 0.05), (0.10, 0.20, 0.13), OUT),
        (LimitKind.EQUAL_WITHIN, (None, 0.05), (0.10, 0.12), N),
        (LimitKind.ORDERED, (None, None), (0.30, 0.20, 0.10), W),
        (LimitKind.ORDERED, (None, None), (0.30, 0.10, 0.20), OUT),
        (LimitKind.ORDERED, (0.15, None), (0.30, 0.20, 0.01), OUT),  # by at least 0.15 each
    ],
)
def test_several_positions(kind, ends, values, state):
    r = requirement(kind, *ends, positions=("a", "b", "c"))
    entries = [{"value": v, "u": 0.002, "position": p} for v, p in zip(values, "abc", strict=False)]
    assert checked(r, *entries).state.value == state


def test_all_of_a_set_needs_every_one():
    r = requirement(LimitKind.ALL_OF, None, None, "yes", positions=("a", "b"))
    assert checked(r, {"eye": True, "position": "a"}).state is State.NOT_SHOWN
    assert checked(r, {"eye": True, "position": "a"}, {"eye": True, "position": "b"}).state is State.WITHIN
    assert checked(r, {"eye": True, "position": "a"}, {"eye": False, "position": "b"}).state is State.OUTSIDE


def test_a_limit_that_is_not_known_is_never_met_but_can_be_recorded():
    r = requirement(LimitKind.NONE_KNOWN, None, None)
    assert (checked(r).state, checked(r).closed) == (State.NOT_SHOWN, False)
    done = checked(r, {"value": 0.3, "u": 0.01})
    assert (done.state, done.verdict, done.closed) == (State.NOT_SHOWN, None, True)


@pytest.mark.parametrize(
    ("wanted", "entry"),
    [({"warm": True}, {"warm": False}), ({"powered": False}, {"powered": True}), ({"locked": True}, {"locked": False})],
)
def test_a_reading_in_the_wrong_state_does_not_count(wanted, entry):
    good = {key: wanted[key] for key in entry}
    assert checked(requirement(**wanted), {"value": 0.15, "u": 0.001, **entry}).state is State.NOT_SHOWN
    assert checked(requirement(**wanted), {"value": 0.15, "u": 0.001, **good}).state is State.WITHIN


def test_what_was_touched_is_held_to_the_readjust_limits():
    r = requirement(readjust=Ends(0.14, 0.16))
    reading = {"value": 0.12, "u": 0.001}
    assert checked(r, reading).state is State.WITHIN
    assert checked(r, {"changed": "screw +0.1"}, reading).state is State.OUTSIDE


def test_a_reading_from_before_a_change_does_not_count():
    after = checked(requirement(), {"value": 0.15, "u": 0.001}, {"changed": "screw +0.1"})
    assert (after.state, after.recheck_because) == (State.NOT_SHOWN, ("r",))


def test_an_accepted_reading_stays_outside_but_closes():
    c = checked(requirement(), {"value": 0.5, "u": 0.001}, {"accepted": "runs best there"})
    assert (c.state, c.closed) == (State.OUTSIDE, True)


def test_units_are_turned_before_judging():
    r = requirement(low=8, high=16, unit="thou")
    assert checked(r, {"value": 0.254, "u": 0.005, "unit": "mm"}).verdict.value == pytest.approx(10.0)


def test_repeats_shrink_the_scatter_but_not_the_gauge():
    c = checked(requirement(), *({"value": v, "u": 0.01} for v in (0.14, 0.15, 0.16)))
    # s = 0.01, u = sqrt(0.01^2 / 3 + 0.01^2), worked by hand
    assert c.verdict.u == pytest.approx(math.sqrt(0.01**2 / 3 + 0.01**2))


def test_two_gauge_pairs_narrow_each_other_and_may_contradict():
    assert checked(requirement(), {"low": 0.08, "high": 0.14}, {"low": 0.12, "high": 0.22}).state is State.WITHIN
    told = checked(requirement(), {"low": 0.08, "high": 0.10}, {"low": 0.12, "high": 0.22})
    assert (told.state, "contradict" in told.verdict.why) == (State.NOT_SHOWN, True)


def test_jcgm_106_conformance_probability_at_the_guard():
    """A value exactly U = 2u inside one end conforms with probability Phi(2) = 97.7 % (JCGM 106:2012, 8.3.2)."""
    u = 0.01
    accepted = checked(requirement(LimitKind.MIN, 0.1, None), {"value": 0.1 + 2 * u, "u": u})
    assert accepted.state is State.WITHIN
    assert norm.sf(0.1, loc=0.1 + 2 * u, scale=u) == pytest.approx(0.97725, abs=1e-5)
    assert checked(requirement(LimitKind.MIN, 0.1, None), {"value": 0.1 + 1.99 * u, "u": u}).state is State.NOT_SHOWN


@given(value=st.floats(0.02, 0.3), u=st.floats(0.003, 0.2))
def test_the_finer_gauge_does_settle_it(value, u):
    """Take the gauge that is named: were the value to stay, it would be shown."""
    c = checked(requirement(), {"value": value, "u": u})
    if c.settle is None or c.settle.gauge is None:
        return
    again = checked(requirement(), {"value": value, "instrument": c.settle.gauge})
    assert again.state is not State.NOT_SHOWN
    assert GAUGES[c.settle.gauge].u(value, "mm") <= c.settle.u_needed


def test_a_gauge_pair_that_straddles_an_end_asks_for_that_very_gauge():
    c = checked(requirement(), {"low": 0.08, "high": 0.12})
    assert "0.1 mm" in c.settle.how
