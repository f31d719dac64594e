r"""Do several ways to take the speed agree, and what do they say together?

    mean     x = sum(w_i x_i) / sum(w_i),   w_i = 1 / u_i^2,   u(x) = 1 / sqrt(sum w_i)
    doubt    chi^2 = sum((x_i - x)^2 / u_i^2) on n - 1 degrees; consistent when that much or more comes by chance
             in at least 5 of 100
    pairs    E = |x_i - x_j| / (2 sqrt(u_i^2 + u_j^2));  above 1 the two disagree beyond their doubts

The weighted mean is the maximum-likelihood estimate for independent normal doubts (textbook). E is the "E number" of
comparisons between laboratories (ISO 13528, from memory). Ways that disagree are not averaged: one of them is wrong.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from tapewright.motor.ways import Way, with_rival
from tapewright.number import Reading

BY_CHANCE = 0.05


@dataclass(frozen=True, slots=True)
class Pair:
    """Two ways held against each other: their difference in per cent, its standard uncertainty, and E."""

    first: str
    second: str
    difference_percent: float
    u_percent: float
    e_number: float

    @property
    def agree(self) -> bool:
        """Return whether the difference lies within the doubts."""
        return self.e_number <= 1.0


@dataclass(frozen=True, slots=True)
class Agreement:
    """What the ways say together.

    Attributes:
        ways: as used; a strobe may be read as one of its rivals when the others say so.
        reread: names of the ways that were.
        chi2: sum of squares; degrees: n - 1; probability: of that much or more by chance (1 for one way).
        pairs: every two of them.
        odd_one: the way without which the others agree, None when there is none or no need.
        error_percent: together; without a value when they disagree.
    """

    ways: tuple[Way, ...]
    reread: tuple[str, ...]
    chi2: float
    degrees: int
    probability: float
    pairs: tuple[Pair, ...]
    odd_one: str | None
    error_percent: Reading

    @property
    def consistent(self) -> bool:
        """Return whether the ways agree within their doubts."""
        return self.probability >= BY_CHANCE


def agree(ways: Sequence[Way]) -> Agreement:
    """Hold the ways against each other, at least one."""
    settled, reread = _settle(ways)
    _, _, chi2 = _mean(settled)
    p = _by_chance(chi2, len(settled) - 1)
    pairs = tuple(_pair(a, b) for a, b in combinations(settled, 2))
    odd = None if p >= BY_CHANCE else _odd_one(settled)
    return Agreement(tuple(settled), reread, chi2, len(settled) - 1, p, pairs, odd, _together(settled, p, odd))


def _together(ways: Sequence[Way], p: float, odd: str | None) -> Reading:
    if p >= BY_CHANCE:
        mean, u, _ = _mean(ways)
        return Reading(mean, u, "percent", len(ways), "weighted mean" if len(ways) > 1 else ways[0].name)
    why = "the ways disagree beyond their doubts"
    return Reading(None, None, "percent", len(ways), f"{why}; look at the {odd} first" if odd else why)


def _settle(ways: Sequence[Way]) -> tuple[list[Way], tuple[str, ...]]:
    """Read a way with rivals as the rival that the ways without rivals point to."""
    plain = [w for w in ways if not w.rivals_percent]
    if not plain:
        return list(ways), ()
    mean, u, chi2 = _mean(plain)
    if _by_chance(chi2, len(plain) - 1) < BY_CHANCE:
        return list(ways), ()
    settled = [_nearest(w, mean, u) for w in ways]
    return settled, tuple(now.name for now, was in zip(settled, ways, strict=True) if now is not was)


def _nearest(way: Way, mean: float, u: float) -> Way:
    """Return the reading of a way nearest to what the others say, when only a rival lies within the doubts."""

    def far(error: float) -> float:
        return abs(error - mean) / (2 * math.hypot(way.error_percent.u or 0.0, u))

    if not way.rivals_percent or far(way.error_percent.value or 0.0) <= 1:
        return way
    best = min(way.rivals_percent, key=far)
    return with_rival(way, best) if far(best) <= 1 else way


def _mean(ways: Sequence[Way]) -> tuple[float, float, float]:
    values = [w.error_percent.value or 0.0 for w in ways]
    weights = [1 / max(w.error_percent.u or 0.0, 1e-9) ** 2 for w in ways]
    mean = math.fsum(w * x for w, x in zip(weights, values, strict=True)) / math.fsum(weights)
    chi2 = math.fsum(w * (x - mean) ** 2 for w, x in zip(weights, values, strict=True))
    return mean, 1 / math.sqrt(math.fsum(weights)), chi2


def _pair(a: Way, b: Way) -> Pair:
    difference = (a.error_percent.value or 0.0) - (b.error_percent.value or 0.0)
    u = math.hypot(a.error_percent.u or 0.0, b.error_percent.u or 0.0)
    return Pair(a.name, b.name, difference, u, abs(difference) / (2 * max(u, 1e-9)))


def _odd_one(ways: Sequence[Way]) -> str | None:
    """Return the one way without which the others agree, when there is exactly one."""
    if len(ways) < 3:
        return None
    without = [[w for w in ways if w is not out] for out in ways]
    odd = [out.name for out, rest in zip(ways, without, strict=True) if _fits(rest)]
    return odd[0] if len(odd) == 1 else None


def _fits(ways: Sequence[Way]) -> bool:
    return _by_chance(_mean(ways)[2], len(ways) - 1) >= BY_CHANCE


def _by_chance(chi2: float, degrees: int) -> float:
    """Return the probability of a chi-square of that much or more."""
    if degrees < 1:
        return 1.0
    from scipy.special import gammaincc

    return float(gammaincc(degrees / 2, chi2 / 2))
