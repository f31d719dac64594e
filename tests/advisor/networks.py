"""Small random networks and evidence for property tests."""

import numpy as np
from hypothesis import strategies as st

from tapewright.advisor.network import Likelihoods, Network


@st.composite
def cases(draw, most_causes=8, most_findings=7):
    """Return a network with evidence: found, not found, not examined and doubtful, in any mixture."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    n, m = draw(st.integers(1, most_causes)), draw(st.integers(1, most_findings))
    linked = rng.random((n, m)) < draw(st.sampled_from([0.2, 0.5, 0.9]))
    network = Network(
        prior=rng.uniform(0.001, 0.6, n),
        strength=rng.uniform(0.0, 1.0, (n, m)) * linked,
        leak=rng.uniform(0.0005, 0.3, m),
        station=rng.integers(0, 3, n),
    )
    kinds = draw(st.lists(st.sampled_from(["yes", "no", "open", "doubt"]), min_size=m, max_size=m))
    return network, evidence(kinds, rng)


def evidence(kinds, rng):
    doubt = rng.uniform(0.05, 1.0, (2, len(kinds)))
    table = {"yes": (1.0, 0.0), "no": (0.0, 1.0), "open": (1.0, 1.0)}
    pairs = [table.get(kind, tuple(doubt[:, place])) for place, kind in enumerate(kinds)]
    return Likelihoods(np.array([a for a, _ in pairs]), np.array([b for _, b in pairs]))
