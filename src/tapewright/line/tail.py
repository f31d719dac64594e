r"""How far out the next instants will lie: each group normal about its mean, so many of each.

    P(d > x) = sum over groups of n_g Q((x - mean_g) / sd_g) / n,        Q the upper tail of the normal distribution

The largest distortion of n instants is no property of the machine: another recording has another. Its doubt is the
spread that the largest of n would have, half the way between its 16th and 84th percentile, where the number expected
beyond x is 1.84 and 0.173 (Poisson: exp(-1.84) = 0.159). What is exceeded once in 10,000 or 100,000 instants is a
property of the machine, if its scatter is normal that far out; nothing is stated where the instants say it is not.
"""

import math
from dataclasses import dataclass

import numpy as np

from tapewright.line.frames import IntArray
from tapewright.line.groups import Groups
from tapewright.line.instants import Instants
from tapewright.number import Reading, missing
from tapewright.recordings.capture import BoolArray, FloatArray

#: Numbers expected beyond the 16th and the 84th percentile of the largest.
OFTEN, SELDOM = -math.log(0.158655), -math.log(0.841345)
#: Fewer instants say nothing of a tail; scatter is not normal when its kurtosis stands so many deviations off.
FEWEST, NOT_NORMAL = 50, 4.0
HALVINGS = 45
EARLY, LATE = -1, 1


@dataclass(frozen=True, slots=True, eq=False)
class Tail:
    """Instants as normal groups.

    Attributes:
        boundary: shape (g,), k.
        to_mark: shape (g,), direction.
        n: shape (g,), instants in each.
        mean_s: shape (g,), elapsed time less k `unit_s`.
        sd_s: shape (g,), of a single instant.
        covariance: shape (g, g), of the means.
        sd_share: relative standard uncertainty of `sd_s`.
        unit_s: the unit taken out.
        normal: whether the scatter looks normal.
    """

    boundary: IntArray
    to_mark: BoolArray
    n: FloatArray
    mean_s: FloatArray
    sd_s: FloatArray
    covariance: FloatArray
    sd_share: float
    unit_s: float
    normal: bool

    def late_units(self, unit_s: float) -> FloatArray:
        """Return the mean distortion of each group, units, late positive, shape (g,)."""
        return np.asarray((self.mean_s + self.boundary * (self.unit_s - unit_s)) / unit_s)

    def of_largest(self, unit_s: float, sides: tuple[int, ...], groups: BoolArray | None = None) -> float:
        """Return the standard uncertainty of the largest distortion as a property of the machine, units.

        Args:
            unit_s: the unit it is measured with.
            sides: EARLY, LATE or both.
            groups: shape (g,), which groups; all when left out.
        """
        chosen = np.ones(self.n.size, bool) if groups is None else groups
        if not self.n[chosen].sum():
            return 0.0
        low, high = (self._level(each, unit_s, sides, chosen)[0] for each in (OFTEN, SELDOM))
        return max(high - low, 0.0) / 2

    def exceeded(self, share: float, unit_s: float) -> Reading:
        """Return the distortion, per cent of the unit, that is exceeded so often, early or late."""
        total = float(self.n.sum())
        if total < FEWEST:
            return missing("percent", "too few instants to tell how large the distortion seldom is")
        if not self.normal:
            return missing("percent", "the scatter is not normal: how large the distortion seldom is cannot be told")
        level, slope, turn = self._level(share * total, unit_s, (EARLY, LATE), np.ones(self.n.size, bool))
        u = math.sqrt(float(slope @ self.covariance @ slope) / unit_s**2 + (turn * self.sd_share) ** 2)
        return Reading(100 * level, 100 * u, "percent", int(total))

    def _level(
        self, expected: float, unit_s: float, sides: tuple[int, ...], chosen: BoolArray
    ) -> tuple[float, FloatArray, float]:
        """Return the level beyond which so many are expected, units, and how it goes with the means and the spread."""
        mean, sd, n = self.late_units(unit_s)[chosen], self.sd_s[chosen] / unit_s, self.n[chosen]
        both = [(side * m, s, count) for side in sides for m, s, count in zip(mean, sd, n, strict=True)]
        low, high = -1.0, 2.0
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            beyond = sum(count * math.erfc((middle - m) / (s * math.sqrt(2))) / 2 for m, s, count in both)
            low, high = (middle, high) if beyond > expected else (low, middle)
        z = [(middle - m) / s for m, s, _ in both]
        dense = np.array(
            [c / s * math.exp(-min(each * each, 1400.0) / 2) for each, (_, s, c) in zip(z, both, strict=True)]
        )
        weight = dense / max(float(dense.sum()), 1e-300)
        signed = weight * np.repeat(sides, mean.size)
        slope = np.zeros(self.n.size)
        slope[chosen] = signed.reshape(len(sides), -1).sum(axis=0)
        return middle, slope, float(sum(w * each * s for w, each, (_, s, _) in zip(weight, z, both, strict=True)))


def spread_of(instants: Instants, groups: Groups, moved_s: FloatArray) -> Tail:
    """Return the groups as they scatter with all that the drive does to them.

    Args:
        instants: of all characters.
        groups: their means, with the motion of the drive taken out.
        moved_s: shape (instants,), that motion.
    """
    shared, g = groups.shared, groups.n.size
    kept = np.isfinite(groups.residual_s)
    mine = groups.group[kept]
    count = np.maximum(np.bincount(mine, minlength=g), 1)
    # what the motion adds to a group's mean belongs to it
    shift = np.bincount(mine, moved_s[kept], minlength=g) / count
    r = groups.residual_s[kept] + moved_s[kept] - shift[mine]
    own = np.bincount(mine, r**2, minlength=g) / count
    pooled = float(own @ count / max(float(count.sum()) - g, 1.0)) if g else 0.0
    variance = np.maximum((own * count + 6.0 * pooled) / (count + 5.0), max(groups.resolution_s, 1e-9) ** 2)
    z = r / np.sqrt(variance[mine]) if g else r
    independent = max(float(len(set(instants.frame[kept].tolist()))), 1.0)
    kurtosis = float(np.mean(z**4)) / max(float(np.mean(z**2)) ** 2, 1e-30) - 3.0 if z.size else 0.0
    doubt = 1.0 if shared is None else _relative(shared.variances_cov, shared.own2 + shared.start2)
    return Tail(
        groups.boundary,
        groups.to_mark,
        count.astype(float),
        groups.mean_s + shift,
        np.sqrt(variance),
        groups.covariance,
        max(doubt, 1 / math.sqrt(2 * independent)) if g else 1.0,
        groups.unit_s,
        abs(kurtosis) < NOT_NORMAL * math.sqrt(24 / independent),
    )


def _relative(cov: FloatArray, variance: float) -> float:
    u2 = float(cov[0, 0] + cov[1, 1] + 2 * cov[0, 1])
    return math.sqrt(max(u2, 0.0)) / max(2 * variance, 1e-30)
