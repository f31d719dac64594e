"""The margin search: few questions, doubts that are true, and a general reference implementation beside it."""

import numpy as np
import pytest
import questplus

from fakes.receivers import KnownReceiver, some_receivers
from tapewright.margin.document import judge_margin, range_of
from tapewright.margin.ends import KINDS, Belief, Scale, after, at_first, next_setting
from tapewright.margin.find import Search, find_margin, holds
from tapewright.number import State
from tapewright.reference.itu_t_s3 import RECEIVER_MARGIN

SCALE = Scale(0.0, 120.0)


def search(receiver, rng, scale=SCALE, most=14):
    found = Search(scale, most)
    return find_margin(found, lambda n, at: receiver.answer(at, rng), lambda s: None), found


@pytest.fixture(scope="module")
def many():
    rng = np.random.default_rng(77)
    return [(r, *search(r, rng)) for r in some_receivers(100, rng)]


def test_within_two_points_in_fourteen_questions(many):
    """Two answers in a hundred say nothing; a search that such an answer misleads says so by its doubt."""
    assert all(len(s.asked) <= 14 for _, _, s in many)
    off = np.array([abs(f.margin.value - r.margin) for r, f, _ in many if f.margin.value is not None])
    ends = np.array([max(abs(f.low.value - r.low), abs(f.high.value - r.high)) for r, f, _ in many if f.margin.value])
    assert off.size >= 98
    assert np.mean(off <= 2) >= 0.95
    assert np.mean(ends <= 2) >= 0.85


def test_doubts_are_true(many):
    """About 95 of 100 true margins and ends lie within 2u."""
    seen = [(f.margin, r.margin) for r, f, _ in many] + [(f.low, r.low) for r, f, _ in many]
    seen += [(f.high, r.high) for r, f, _ in many]
    inside = [abs(x.value - truth) <= x.expanded for x, truth in seen if x.value is not None]
    assert np.mean(inside) >= 0.93


def test_without_slips_it_never_misses():
    rng = np.random.default_rng(5)
    for receiver in some_receivers(20, rng, lapse=0.0):
        hard = KnownReceiver(receiver.low, receiver.high, 0.05, 0.0)
        found, _ = search(hard, rng)
        assert abs(found.margin.value - hard.margin) <= 2
        assert abs(found.low.value - hard.low) <= 2
        assert abs(found.high.value - hard.high) <= 2


#: one softness and one lapse, which a general procedure can hold fixed
ONE_KIND = 5


def one_end(low_cells):
    """Belief in which the high end is known to lie far away: one threshold is left, as a general procedure has it."""
    scale = Scale(0.0, 60.0)
    belief = at_first(scale)
    table = np.zeros_like(belief.table)
    rows = np.flatnonzero(np.isin(scale.ends, low_cells))
    table[rows, -1, ONE_KIND] = 1 / rows.size
    return Belief(scale, table, 0.0)


def test_same_belief_and_same_questions_as_a_general_implementation():
    """A general Bayesian adaptive procedure from PyPI, given one threshold of the same shape."""
    cells = np.arange(5.0, 46.0)
    ours = one_end(cells)
    theirs = questplus.QuestPlus(
        stim_domain={"intensity": ours.scale.levels},
        param_domain={
            "mean": cells, "sd": [KINDS[ONE_KIND][1]], "lower_asymptote": [KINDS[ONE_KIND][0] / 2],
            "lapse_rate": [KINDS[ONE_KIND][0] / 2]
        },
        outcome_domain={"response": ["right", "wrong"]},
        func="norm_cdf",
        stim_scale="linear",
        param_estimation_method="mean",
    )  # fmt: skip
    rng, receiver = np.random.default_rng(3), KnownReceiver(23.4, 200.0, 0.8, 0.02)
    for _ in range(12):
        at, told = next_setting(ours)
        best = theirs.next_stim["intensity"]
        from tapewright.margin.ends import information

        # several settings may tell the same: ours must tell as much as theirs does
        assert told >= information(ours, float(best)) - 1e-6
        answer = receiver.answer(at, rng)
        ours = after(ours, at, answer)
        theirs.update(stim={"intensity": at}, outcome={"response": answer})
        mean = range_of(ours, 1).low.value if range_of(ours, 1).low.value is not None else np.nan
        assert mean == pytest.approx(theirs.param_estimate["mean"], abs=0.02)


def test_a_range_beyond_the_scale_is_said():
    found, _ = search(KnownReceiver(-40.0, 160.0, 0.3, 0.0), np.random.default_rng(1))
    assert found.low.value is None
    assert "scale ends" in found.low.how
    assert found.at_least == pytest.approx(60)
    assert judge_margin(found, RECEIVER_MARGIN, True).state is State.WITHIN


def test_a_receiver_that_never_reads_right_is_said():
    found, s = search(KnownReceiver(70.0, 50.0, 0.3, 0.0), np.random.default_rng(1))
    assert found.nowhere > 0.8
    assert len(s.asked) <= 14
    assert judge_margin(found, RECEIVER_MARGIN, True).state is State.OUTSIDE


def test_no_verdict_without_a_proven_speed(many):
    assert judge_margin(many[0][1], RECEIVER_MARGIN, False).state is State.NOT_SHOWN


def test_undo_takes_the_last_answer_back():
    said = iter(["right", "wrong", "undo", "right", "stop"])
    s = Search(SCALE)
    find_margin(s, lambda n, at: next(said), lambda _: None)
    assert [one.answer for one in s.asked] == ["right", "right"]


def test_cannot_say_teaches_nothing():
    assert after(at_first(SCALE), 60.0, "can't say").table.sum() == pytest.approx(at_first(SCALE).table.sum())


def test_holds():
    assert holds(("11000", "00001"), ("00000", "11000", "00001", "00000"))
    assert not holds(("11000", "00001"), ("11000", "00000", "00001"))
