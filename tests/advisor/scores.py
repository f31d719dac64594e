"""Score the advisor on simulated cases."""

from dataclasses import dataclass

import numpy as np

from advisor.cases import SHARE_DONE, generator, make_case
from tapewright.advisor.belief import infer
from tapewright.advisor.evidence import likelihoods, settle
from tapewright.advisor.models import load
from tapewright.advisor.network import Likelihoods
from tapewright.advisor.one_observation import as_one_observation

MACHINES = ("keyboard-punch", "page-printer", "tape-reader", "whole")


@dataclass
class Scored:
    machine: str
    faults: tuple[str, ...]
    order: list[str]
    ranks: list[int]
    belief: dict[str, float]


def score(seed, count, cases, share=SHARE_DONE):
    """Deal `cases` machines with `count` faults, machine by machine in turn; give what the advisor made of them."""
    rng = generator(seed)
    out = []
    for number in range(cases):
        model = load(MACHINES[number % len(MACHINES)])
        case = make_case(model, count, rng, share)
        settled = settle(case.evidence.answers)
        network = as_one_observation(model, model.network(), settled)
        belief = infer(network, likelihoods(model, settled)).cause
        names = list(model.causes)
        order = [names[place] for place in np.argsort(-belief)]
        ranks = [order.index(fault) for fault in case.faults]
        out.append(Scored(model.name, case.faults, order, ranks, dict(zip(names, belief.tolist(), strict=True))))
    return out


def calibration(scored, low, high):
    """Return number, mean probability and share of true ones among the causes given between low and high."""
    pairs = [(p, cause in case.faults) for case in scored for cause, p in case.belief.items() if low <= p < high]
    return len(pairs), float(np.mean([p for p, _ in pairs])), float(np.mean([true for _, true in pairs]))


def score_own_model(seed, count, cases, share=SHARE_DONE):
    """The same with cases drawn from the advisor's own noisy-OR: an upper bound, not a measure of how good it is."""
    rng = generator(seed)
    out = []
    for number in range(cases):
        model = load(MACHINES[number % len(MACHINES)])
        network, names = model.network(), list(model.causes)
        present = rng.choice(len(names), size=count, replace=False)
        absent = (1 - network.leak) * np.prod(1 - network.strength[present], axis=0)
        shows, looked = rng.random(len(absent)) > absent, rng.random(len(absent)) < share
        evidence = Likelihoods(np.where(looked & ~shows, 0.0, 1.0), np.where(looked & shows, 0.0, 1.0))
        belief = infer(network, evidence).cause
        order = [names[place] for place in np.argsort(-belief)]
        faults = tuple(names[place] for place in present)
        ranks = [order.index(fault) for fault in faults]
        out.append(Scored(model.name, faults, order, ranks, dict(zip(names, belief.tolist(), strict=True))))
    return out
