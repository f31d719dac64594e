"""The fault network as arrays: causes that fire independently, findings that any of them can bring about.

Noisy-OR: a finding f stays away only if the leak and every present cause fail to bring it about,

    P(f absent | present causes S) = (1 - leak_f) * product over c in S of (1 - strength_cf)

The formula is the usual one of the literature on noisy-OR models (from memory, not seen).
"""

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

FloatArray: TypeAlias = NDArray[np.float64]
BoolArray: TypeAlias = NDArray[np.bool_]
IntArray: TypeAlias = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """Causes, findings and the strength between them.

    Attributes:
        prior: shape (n,), probability that each cause is present before anything is known, 0 to 1.
        strength: shape (n, m), probability that cause c alone brings about finding f.
        leak: shape (m,), probability that a finding appears though no listed cause brings it about.
        station: shape (n,), number of the station each cause belongs to.

    Raises:
        ValueError: when shapes do not fit or a probability lies outside 0 to 1.
    """

    prior: FloatArray
    strength: FloatArray
    leak: FloatArray
    station: IntArray

    def __post_init__(self) -> None:
        n, m = self.strength.shape
        if self.prior.shape != (n,) or self.leak.shape != (m,) or self.station.shape != (n,):
            raise ValueError("prior, strength, leak and station do not fit together")
        for name, values in (("prior", self.prior), ("strength", self.strength), ("leak", self.leak)):
            if values.size and not (np.min(values) >= 0 and np.max(values) <= 1):
                raise ValueError(f"a {name} lies outside 0 to 1")


@dataclass(frozen=True, slots=True, eq=False)
class Likelihoods:
    """What was learnt about each finding: how likely that evidence is if the finding is there, and if not.

    Attributes:
        if_present, if_absent: shape (m,), each 0 to 1. Seen: (1, 0). Looked for and not there: (0, 1).
            Not examined: equal, so that it says nothing. Anything between is doubtful evidence.

    Raises:
        ValueError: when a likelihood is outside 0 to 1, or both are 0 (that evidence cannot have happened).
    """

    if_present: FloatArray
    if_absent: FloatArray

    def __post_init__(self) -> None:
        both = np.stack([self.if_present, self.if_absent])
        if both.size and not (np.min(both) >= 0 and np.max(both) <= 1):
            raise ValueError("a likelihood lies outside 0 to 1")
        if np.any(np.max(both, axis=0) == 0):
            raise ValueError("evidence that is impossible both ways")

    @property
    def examined(self) -> BoolArray:
        """Shape (m,): True where the evidence says something."""
        return np.asarray(self.if_present != self.if_absent)

    @property
    def ruled_out(self) -> BoolArray:
        """Shape (m,): True where the finding was looked for and surely is not there."""
        return np.asarray((self.if_present == 0) & (self.if_absent > 0))


def nothing_examined(findings: int) -> Likelihoods:
    """Return the evidence of somebody who has looked at nothing yet."""
    return Likelihoods(np.ones(findings), np.ones(findings))
