r"""What is known of an armature's flight before any data, and which kinds of coil are weighed against each other.

Each figure is held within a factor or a distance by a normal distribution. How many coils have eddy currents, and how
steepening goes with growth, were settled with three sets of simulated coils in sight; others were used to check:

    growth of L     a moving armature raises L by a tenth to a few times (common practice, no source)
    start           the pull-in current over the steady one: 1.2 to 5 times the pull-in is usual (common practice, no
                    source)
    scale           from a flight much quicker than T1 to one as slow
    stiffening      spring force on the pole over that at the stop: 1 to 2.5 (common practice, no source)
    steepening      where reluctance falls evenly with the gap, dL/ds grows by (L2 / L1)^2 (magnetic circuit of one
                    gap); leakage beside the gap makes it (1 + growth / (1 - leakage))^2, with up to two thirds of it
    drag            from none to the aperiodic case
    eddy            one closed turn of 0.5 to 4 % of the winding's conductance, where there is any
    saturation      the iron asks 0 to 20 % of the current, where there is any
    rebound         0.15 to 0.55 of the speed, where there is any
The last four: owner's choice.

Not every coil has eddy currents, saturation or rebound that show. Each of the eight kinds is fitted, and counts by what
the data and these priors say of it (Bayes's rule with Laplace's approximation of the integral).
"""

from collections.abc import Sequence

import numpy as np

from tapewright.coil.coil_recording import FloatArray
from tapewright.coil.flight import (
    COUNT,
    EDDY,
    LEVEL,
    LOG_DRAG,
    LOG_GROWTH,
    LOG_REBOUND,
    LOG_SCALE,
    LOG_T1,
    SHARP,
    SOFT,
    START,
    STEEPENS,
    STIFFENS,
)

#: parameter -> middle, standard deviation
PRIOR = {
    LEVEL: (0.0, np.inf), LOG_T1: (0.0, np.inf), LOG_GROWTH: (-1.0, 1.0), START: (0.0, 1.0), LOG_SCALE: (-0.7, 1.5),
    STIFFENS: (0.5, 0.5), STEEPENS: (0.5, 0.5), LOG_DRAG: (np.log(0.3), 1.2),
    EDDY: (0.02, 0.015), SOFT: (0.0, 0.1), SHARP: (0.0, 0.1), LOG_REBOUND: (np.log(0.3), 0.6),
}  # fmt: skip
#: the same where a coil has none of it
ABSENT = {EDDY: (0.0, 1e-6), SOFT: (0.0, 1e-6), SHARP: (0.0, 1e-6), LOG_REBOUND: (-7.0, 1e-3)}
#: what the kinds differ in, and how many of coils have it that shows
CHOICES = {"eddy": (EDDY,), "saturation": (SOFT, SHARP), "rebound": (LOG_REBOUND,)}
SHARES = {"eddy": 0.1, "saturation": 0.1, "rebound": 0.5}
#: by how much the spring asks more at one closing than at another, logarithm (friction; common practice, no source)
HEAVIER = 0.1

Kind = frozenset[str]


def of_kinds(kinds: Sequence[Kind]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return middles and weights (1 / variance) of the priors, each shape (kinds, COUNT), and each kind's log prior.

    The log prior holds the widths of the priors of what the kind has beyond the plainest.
    """
    middles, spreads, known = np.zeros((len(kinds), COUNT)), np.zeros((len(kinds), COUNT)), np.zeros(len(kinds))
    for row, kind in enumerate(kinds):
        table = dict(PRIOR)
        for name, indices in CHOICES.items():
            known[row] += np.log(SHARES[name] if name in kind else 1 - SHARES[name])
            if name not in kind:
                table.update({index: ABSENT[index] for index in indices})
            known[row] -= sum(np.log(table[index][1]) for index in indices)
        middles[row] = [table[index][0] for index in range(COUNT)]
        spreads[row] = [table[index][1] for index in range(COUNT)]
    return middles, 1 / spreads**2, known
