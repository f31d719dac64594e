"""The exact belief against the definition written out, closed forms, and a published worked example."""

import time

import numpy as np
import pytest
from hypothesis import given, settings

from advisor.brute_force import posterior
from advisor.networks import cases
from tapewright.advisor.belief import infer
from tapewright.advisor.network import Likelihoods, Network, nothing_examined
from tapewright.advisor.workplan import WIDEST, TooEntangledError


@settings(max_examples=150, deadline=None)
@given(cases())
def test_belief_is_that_of_the_definition_written_out(case):
    network, evidence = case
    cause, station, left, log = posterior(network, evidence)
    belief = infer(network, evidence)
    assert belief.cause == pytest.approx(cause, abs=1e-9)
    assert belief.station[: len(station)] == pytest.approx(station, abs=1e-9)
    assert belief.log_evidence == pytest.approx(log, abs=1e-9)
    known = evidence.examined & ~evidence.ruled_out
    assert belief.unexplained[known] == pytest.approx(left[known], abs=1e-9)
    assert np.all(np.isnan(belief.unexplained[~known]))


def test_one_cause_one_finding_is_bayes_by_hand():
    # closed form of noisy-OR, worked by hand: P(f) = 1 - (1-l)(1-p) with the cause, l without
    prior, strength, leak = 0.1, 0.8, 0.05
    network = Network(np.array([prior]), np.array([[strength]]), np.array([leak]), np.array([0]))
    with_cause = 1 - 0.95 * 0.2
    found = infer(network, Likelihoods(np.array([1.0]), np.array([0.0])))
    assert found.cause[0] == pytest.approx(0.1 * with_cause / (0.1 * with_cause + 0.9 * 0.05), abs=1e-12)
    gone = infer(network, Likelihoods(np.array([0.0]), np.array([1.0])))
    # the leak cancels: an absent finding multiplies the odds by 1 - strength
    assert gone.cause[0] / (1 - gone.cause[0]) == pytest.approx(0.1 / 0.9 * 0.2, abs=1e-12)


def test_absent_findings_multiply_odds_cause_by_cause():
    # closed form: with all evidence negative the causes stay independent
    strength = np.array([[0.9, 0.3], [0.0, 0.6]])
    network = Network(np.array([0.2, 0.5]), strength, np.array([0.1, 0.1]), np.array([0, 1]))
    belief = infer(network, Likelihoods(np.zeros(2), np.ones(2)))
    odds = belief.cause / (1 - belief.cause)
    assert odds == pytest.approx([0.25 * 0.1 * 0.7, 1.0 * 0.4], abs=1e-12)


def test_explaining_away():
    # two causes of one finding, no leak, strengths 1: P(a | f) = pa / (1 - (1-pa)(1-pb)), by hand
    network = Network(np.array([0.1, 0.2]), np.ones((2, 1)), np.array([0.0]), np.array([0, 0]))
    belief = infer(network, Likelihoods(np.array([1.0]), np.array([0.0])))
    assert belief.cause == pytest.approx([0.1 / 0.28, 0.2 / 0.28], abs=1e-12)
    assert belief.station[0] == pytest.approx(1.0, abs=1e-12)


def test_burglary_alarm_worked_example():
    """Russell and Norvig, Artificial Intelligence, chapter on exact inference: P(burglary | both call) = 0.284.

    From memory, not seen. The alarm itself has a table that is no noisy-OR (0.001, 0.29, 0.94, 0.95), so it is
    folded in as likelihoods: the two calls weigh "alarm" 0.90 x 0.70 to 0.05 x 0.01; the table is written as the
    noisy-OR with leak 0.001 that it nearly is: 1 - 0.999 x (1 - 0.93994) = 0.94, 1 - 0.999 x (1 - 0.28929) = 0.29.
    Both causes together come to 0.957 instead of 0.95, which moves the answer by less than 0.001.
    """
    network = Network(
        prior=np.array([0.001, 0.002]),
        strength=np.array([[1 - 0.06 / 0.999], [1 - 0.71 / 0.999]]),
        leak=np.array([0.001]),
        station=np.array([0, 1]),
    )
    calls = Likelihoods(np.array([0.90 * 0.70]), np.array([0.05 * 0.01]))
    assert infer(network, calls).cause[0] == pytest.approx(0.284, abs=1e-3)


def test_nothing_examined_leaves_the_priors():
    network = Network(np.array([0.03, 0.2]), np.full((2, 3), 0.5), np.full(3, 0.01), np.array([0, 1]))
    belief = infer(network, nothing_examined(3))
    assert belief.cause == pytest.approx([0.03, 0.2], abs=1e-15)
    assert belief.log_evidence == pytest.approx(0.0, abs=1e-12)


def test_impossible_evidence_is_refused():
    network = Network(np.array([0.5]), np.array([[0.0]]), np.array([0.0]), np.array([0]))
    with pytest.raises(ValueError, match="no fault set"):
        infer(network, Likelihoods(np.array([1.0]), np.array([0.0])))


def test_too_many_findings_in_one_knot_are_refused_not_cut_off():
    m = WIDEST + 3
    network = Network(np.full(4, 0.1), np.full((4, m), 0.5), np.full(m, 0.01), np.zeros(4, dtype=int))
    with pytest.raises(TooEntangledError, match=str(m)):
        infer(network, Likelihoods(np.ones(m), np.zeros(m)))


def large(density, seed, causes=100, findings=200, positive=15):
    """A network of the size the floor speaks of, 15 found, 45 not found."""
    rng = np.random.default_rng(seed)
    linked = rng.random((causes, findings)) < density
    network = Network(
        rng.uniform(0.002, 0.04, causes), rng.uniform(0.1, 0.95, (causes, findings)) * linked,
        np.full(findings, 0.01), np.sort(rng.integers(0, 14, causes)),
    )  # fmt: skip
    present, absent = np.ones(findings), np.ones(findings)
    absent[:positive] = 0.0
    present[positive : positive + 45] = 0.0
    return network, Likelihoods(present, absent)


def test_a_large_network_takes_under_50_ms():
    network, evidence = large(0.05, seed=3)
    infer(network, evidence)
    took = []
    for _ in range(5):
        started = time.process_time()
        infer(network, evidence)
        took.append(time.process_time() - started)
    assert min(took) < 0.05


def test_order_of_causes_and_findings_does_not_matter():
    network, evidence = large(0.05, seed=4)
    rng = np.random.default_rng(5)
    rows, columns = rng.permutation(100), rng.permutation(200)
    moved = Network(
        network.prior[rows], network.strength[rows][:, columns], network.leak[columns], network.station[rows]
    )
    there = Likelihoods(evidence.if_present[columns], evidence.if_absent[columns])
    assert infer(moved, there).cause == pytest.approx(infer(network, evidence).cause[rows], abs=1e-9)
