"""Receivers of known range that answer with chance: truth for the margin search, apart from its code."""

from dataclasses import dataclass
from math import erf, sqrt


@dataclass(frozen=True)
class KnownReceiver:
    """Reads right between `low` and `high`; soft ends, and now and then an answer that says nothing."""

    low: float
    high: float
    softness: float
    lapse: float

    @property
    def margin(self):
        return (self.high - self.low) / 2

    def answer(self, at, rng):
        if rng.random() < self.lapse:
            return "right" if rng.random() < 0.5 else "wrong"
        right = self._normal(at - self.low) * self._normal(self.high - at)
        return "right" if rng.random() < right else "wrong"

    def _normal(self, x):
        return (1 + erf(x / self.softness / sqrt(2))) / 2


def some_receivers(count, rng, *, lapse=0.02):
    """Ranges of 24 to 96 points, centred 45 to 75 on a scale of 0 to 120, ends hard to soft by a point."""
    out = []
    for _ in range(count):
        width, centre = rng.uniform(24, 96), rng.uniform(45, 75)
        ends = max(1.0, centre - width / 2), min(119.0, centre + width / 2)
        out.append(KnownReceiver(*ends, float(rng.choice([0.2, 0.5, 1.0])), lapse))
    return out
