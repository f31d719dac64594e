"""Whole documents side by side: order, chance, and documents that hold anything."""

import math

import hypothesis.strategies as st
import pytest
from hypothesis import given, settings
from statsmodels.stats.multitest import multipletests

from tapewright.book.side_by_side.difference import State
from tapewright.book.side_by_side.side_by_side import Pair, figures_of, lay_side_by_side

KEYS = [
    "speed", "unit_ms", "value", "u", "unit", "contacts", "contact", "strips", "rows", "tracks", "track", "feed",
    "requirements", "id", "readings", "interval", "number", "closures", "level_a", "bounce_ms", "median",
    "closing_late_ms", "nominal_baud", "source", "clock_ppm", "scale", "px_per_mm", "from", "moved",
]  # fmt: skip
LEAVES = st.none() | st.booleans() | st.integers(-5, 5) | st.floats() | st.sampled_from(["1", "stop", "ms", ""])
JSON = st.recursive(
    LEAVES,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(KEYS), inner, max_size=6),
    max_leaves=25,
)


def m(value, u=0.01, unit="ms"):
    return {"value": value, "u": u, "unit": unit, "n": 50}


def gauges(**values):
    return {
        "format": "tapewright/sheet/1",
        "requirements": [
            {"id": name, "verdict": {"unit": "mm"}, "readings": [{"position": None, "number": m(v, 0.01, "mm")}]}
            for name, v in values.items()
        ],
    }


def line(unit_ms, nominal, **contacts):
    return {
        "format": "tapewright/line/1",
        "source": {"clock_ppm": 0},
        "speed": {"unit_ms": m(unit_ms), "nominal_baud": nominal, "proven": True},
        "contacts": [
            {"contact": name[1:], "closing_late_ms": m(late), "opening_late_ms": None, "notes": ["never opens"]}
            for name, late in contacts.items()
        ],
    }


def test_the_clearest_difference_stands_first_and_what_cannot_be_compared_last():
    result = lay_side_by_side([Pair("gauge", gauges(p=0.1, q=0.1, r=0.1, s=0.1), gauges(p=0.13, q=0.3, r=0.11, t=0.1))])
    assert [row.figure.what for row in result.rows] == ["q", "p", "r", "s", "t"]
    assert [row.state for row in result.rows[2:]] == [State.NOT_SHOWN, State.CANNOT, State.CANNOT]
    assert (result.compared, result.differ) == (3, 2)
    assert result.by_chance == pytest.approx(3 * 0.0455, rel=1e-3)  # two-sided normal tail at 2: 4.55 %, any table


def test_sure_is_what_holm_leaves():
    """Outside check: statsmodels' Holm on the same two-sided normal chances."""
    sizes = [9.0, 4.0, 3.2, 2.9, 2.2, 1.0, 0.2, 0.1]
    a = gauges(**{f"r{i}": 0.0 for i in range(len(sizes))})
    b = gauges(**{f"r{i}": size * 0.01 * math.sqrt(2) for i, size in enumerate(sizes)})
    result = lay_side_by_side([Pair("gauge", a, b)])
    left, *_ = multipletests([math.erfc(size / math.sqrt(2)) for size in sizes], alpha=0.05, method="holm")
    assert [row.sure for row in result.rows] == [bool(x) for x in left]


def test_the_other_way_round_only_the_sign_changes():
    a, b = gauges(p=0.1, q=0.1, r=0.1), gauges(p=0.13, q=0.3, r=0.11)
    one, other = lay_side_by_side([Pair("gauge", a, b)]).rows, lay_side_by_side([Pair("gauge", b, a)]).rows
    assert [(row.figure.what, row.state, row.sure, row.difference.u) for row in one] == [
        (row.figure.what, row.state, row.sure, row.difference.u) for row in other
    ]
    assert [row.difference.value for row in one] == [-row.difference.value for row in other]


def test_machines_for_two_speeds_are_compared_in_per_cent_of_a_unit():
    rows = lay_side_by_side([Pair("line", line(22.0, 45.4545, c3=1.1), line(20.0, 50.0, c3=1.0))]).rows
    by_name = {row.figure.what: row for row in rows}
    assert by_name["unit"].why == "A made for 45.45 Bd, B made for 50 Bd"
    contact = by_name["closing of contact 3, late"]
    assert contact.a.reading.unit == "percent of a unit"
    assert (contact.a.reading.value, contact.b.reading.value) == (pytest.approx(5.0), pytest.approx(5.0))
    assert contact.state is State.NOT_SHOWN


def test_machines_of_one_speed_are_compared_in_ms():
    rows = lay_side_by_side([Pair("line", line(22.0, 45.4545, c3=0.1), line(22.1, 45.4545, c3=1.6))]).rows
    assert rows[0].figure.what == "closing of contact 3, late"
    assert rows[0].difference.value == pytest.approx(1.5)


def test_a_speed_that_is_not_proven_compares_nothing():
    bad = line(22.0, 45.4545, c3=0.1)
    bad["speed"]["proven"] = False
    rows = lay_side_by_side([Pair("line", bad, line(22.1, 45.4545, c3=1.6))]).rows
    assert {row.state for row in rows} == {State.CANNOT}
    assert "not proven" in rows[0].why


@settings(max_examples=60, deadline=None)
@given(sort=st.sampled_from(["line", "tape", "coil", "gauge"]), a=JSON, b=JSON)
def test_any_document_is_survived(sort, a, b):
    for document in (a, b):
        list(figures_of(sort)(document))
    result = lay_side_by_side([Pair(sort, a, b, one_instrument=True)])
    for row in result.rows:
        assert row.state in State
        assert row.in_u is None or row.in_u >= 0
