"""The definition itself, written out: every fault set, every sum. Only for small networks."""

import itertools

import numpy as np


def posterior(network, evidence):
    """Return cause, station, unexplained, log of the probability of the evidence."""
    n, m = network.strength.shape
    total, cause, station, left = 0.0, np.zeros(n), np.zeros(network.station.max() + 1), np.zeros(m)
    for present in itertools.product([False, True], repeat=n):
        x = np.array(present)
        weight = np.prod(np.where(x, network.prior, 1 - network.prior))
        missed = np.prod(np.where(x[:, None], 1 - network.strength, 1.0), axis=0)
        absent = (1 - network.leak) * missed
        each = evidence.if_present * (1 - absent) + evidence.if_absent * absent
        joint = weight * np.prod(each)
        total += joint
        cause += joint * x
        for s in range(len(station)):
            station[s] += joint * np.any(x[network.station == s])
        if joint > 0:
            left += joint * evidence.if_present * network.leak * missed / each
    return cause / total, station / total, left / total, np.log(total)
