"""The exact belief against a general Bayesian-network library, on models that it can hold.

Two ways: findings as full tables written out from the noisy-OR formula, and findings as the library's own noisy-OR
nodes. The library knows two conventions for the leak: in the one used here (its "net", after Diez) a strength is that
of the cause alone, without the leak; in the other (its "compound", after Henrion) the leak is inside every strength, so
the same numbers mean a weaker cause. Seen with release 3.3: both ways agree with us to 3e-16.
"""

import itertools
import warnings

import numpy as np
import pytest

from advisor.networks import evidence as evidence_of
from tapewright.advisor.belief import infer
from tapewright.advisor.network import Network

with warnings.catch_warnings():
    # its C++ part warns while it is set up, and crashes when that warning is made an error
    warnings.simplefilter("ignore")
    import pyagrum as gum


def random_network(rng, causes, findings):
    linked = rng.random((causes, findings)) < 0.4
    return Network(
        rng.uniform(0.01, 0.4, causes), rng.uniform(0.1, 0.95, (causes, findings)) * linked,
        rng.uniform(0.01, 0.2, findings), np.zeros(causes, dtype=np.int64),
    )  # fmt: skip


def with_full_tables(network):
    net, (n, m) = gum.BayesNet(), network.strength.shape
    for c in range(n):
        net.add(gum.LabelizedVariable(f"c{c}", f"c{c}", 2))
        net.cpt(f"c{c}").fillWith([1 - network.prior[c], network.prior[c]])
    for f in range(m):
        net.add(gum.LabelizedVariable(f"f{f}", f"f{f}", 2))
        parents = [c for c in range(n) if network.strength[c, f] > 0]
        for c in parents:
            net.addArc(f"c{c}", f"f{f}")
        for present in itertools.product([0, 1], repeat=len(parents)):
            stays = 1 - network.leak[f]
            for c, there in zip(parents, present, strict=True):
                stays *= 1 - network.strength[c, f] * there
            where = {f"c{c}": there for c, there in zip(parents, present, strict=True)}
            net.cpt(f"f{f}")[where] = [stays, 1 - stays]
    return net


def with_noisy_or_nodes(network):
    net, (n, m) = gum.BayesNet(), network.strength.shape
    for c in range(n):
        net.add(gum.LabelizedVariable(f"c{c}", f"c{c}", 2))
        net.cpt(f"c{c}").fillWith([1 - network.prior[c], network.prior[c]])
    for f in range(m):
        net.addNoisyORNet(gum.LabelizedVariable(f"f{f}", f"f{f}", 2), float(network.leak[f]))
        for c in range(n):
            if network.strength[c, f] > 0:
                net.addWeightedArc(f"c{c}", f"f{f}", float(network.strength[c, f]))
    return net


def beliefs(net, evidence, causes):
    engine = gum.LazyPropagation(net)
    engine.setEvidence({f"f{f}": [float(b), float(a)] for f, (a, b) in
                        enumerate(zip(evidence.if_present, evidence.if_absent, strict=True)) if a != b})  # fmt: skip
    engine.makeInference()
    return np.array([engine.posterior(f"c{c}")[1] for c in range(causes)])


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(("build", "within"), [(with_full_tables, 1e-12), (with_noisy_or_nodes, 1e-9)])
def test_belief_is_that_of_the_library(seed, build, within):
    rng = np.random.default_rng(seed)
    network = random_network(rng, causes=9, findings=8)
    kinds = rng.choice(["yes", "no", "open", "doubt"], size=8).tolist()
    evidence = evidence_of(kinds, rng)
    assert infer(network, evidence).cause == pytest.approx(beliefs(build(network), evidence, 9), abs=within)


def test_the_other_leak_convention_gives_other_beliefs():
    # worked by hand: strength 0.8 with the leak 0.1 inside means 1 - (1 - 0.8) / (1 - 0.1) = 7/9 of the cause alone
    other = gum.BayesNet()
    other.add(gum.LabelizedVariable("c0", "c0", 2))
    other.cpt("c0").fillWith([0.7, 0.3])
    other.addNoisyORCompound(gum.LabelizedVariable("f0", "f0", 2), 0.1)
    other.addWeightedArc("c0", "f0", 0.8)
    seen = evidence_of(["yes"], np.random.default_rng(0))
    one = np.zeros(1, dtype=np.int64)
    same = Network(np.array([0.3]), np.array([[7 / 9]]), np.array([0.1]), one)
    ours = Network(np.array([0.3]), np.array([[0.8]]), np.array([0.1]), one)
    assert beliefs(other, seen, 1)[0] == pytest.approx(infer(same, seen).cause[0], abs=1e-6)
    assert abs(beliefs(other, seen, 1)[0] - infer(ours, seen).cause[0]) > 1e-3
