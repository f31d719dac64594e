r"""The arithmetic of doubt: standard uncertainties from what a gauge, a hand and repeats can tell.

Picture (a reading that can lie anywhere in +/- a, all places alike):

         -a |________________| +a       u = a / sqrt 3

Formulas from JCGM 100:2008 (GUM): combined standard uncertainty 5.1.2 (uncorrelated), rectangular
distribution 4.3.7, triangular 4.3.9, mean of n repeats 4.2.3. Clause numbers from memory.

A reading out of all proportion to its limits: most likely the wrong box, or the wrong unit.
"""

import math
from collections.abc import Iterable, Sequence

from tapewright.number import Verdict


def combined(contributions: Iterable[float]) -> float:
    """Combine uncorrelated standard uncertainties in the same unit: the root of the sum of squares."""
    return math.hypot(*contributions)


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a value equally likely anywhere within +/- half_width: a / sqrt 3."""
    return half_width / math.sqrt(3)


def triangular(half_width: float) -> float:
    """Standard uncertainty of a value within +/- half_width, likeliest in the middle: a / sqrt 6."""
    return half_width / math.sqrt(6)


def resolution(step: float) -> float:
    """Standard uncertainty of a reading rounded to whole steps: rectangular with half a step."""
    return rectangular(step / 2)


def mean_of_repeats(values: Sequence[float], u_instrument: float) -> tuple[float, float]:
    """Mean of repeats in the same conditions and its standard uncertainty.

    The scatter of the repeats shrinks with their number (s / sqrt n, type A); the doubt of the instrument
    is common to them all and does not.

    Raises:
        ValueError: when there are no values.
    """
    if not values:
        raise ValueError("no values to take the mean of")
    n = len(values)
    mean = math.fsum(values) / n
    if n == 1:
        return mean, u_instrument
    scatter = math.sqrt(math.fsum((v - mean) ** 2 for v in values) / (n - 1))
    return mean, combined([scatter / math.sqrt(n), u_instrument])


#: A reading this many times the largest end of its limit is more likely mistyped than true (common practice, no
#: source: a thou taken for a millimetre is 39 times as much, a millimetre for an inch 25).
OUT_OF_PROPORTION = 20.0


def out_of_proportion(verdict: Verdict) -> float | None:
    """Return how many times the largest end of its limit a reading is; None where it is in proportion."""
    ends = [abs(end) for end in (verdict.limit.low, verdict.limit.high) if end]
    if verdict.value is None or not ends:
        return None
    times = abs(verdict.value) / max(ends)
    return times if times >= OUT_OF_PROPORTION else None
