"""The share of wrong characters, and what is shown about it at 95 % confidence.

    upper bound p:  P(at most k wrong of n | p) = 0.05,  p = Beta^-1(0.95; k + 1, n - k)

C. J. Clopper, E. S. Pearson, Biometrika 26 (1934), one-sided (from memory). With nothing wrong it is
1 - 0.05^(1/n), and close to the "rule of three" 3/n (common practice, no source).
"""

from dataclasses import dataclass

CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class ErrorRate:
    """How many were wrong of how many, with the bound.

    Attributes:
        wrong: wrong characters: changed, lost and extra.
        n: characters that were sent or came unasked.
        upper_95: the rate is below this at 95 % confidence (between 0 and 1); 1 when n is 0.
    """

    wrong: int
    n: int
    upper_95: float

    @property
    def rate(self) -> float | None:
        """Share of wrong characters, None when there were none at all."""
        return self.wrong / self.n if self.n else None


def error_rate(wrong: int, n: int) -> ErrorRate:
    """Bound the rate of `wrong` in `n` characters.

    Raises:
        ValueError: unless 0 <= wrong <= n.
    """
    if not 0 <= wrong <= n:
        raise ValueError(f"{wrong} wrong of {n} cannot be")
    if wrong == n:
        return ErrorRate(wrong, n, 1.0)
    from scipy.special import betaincinv  # costs a quarter of a second, and only here

    return ErrorRate(wrong, n, float(betaincinv(wrong + 1, n - wrong, CONFIDENCE)))


def rule_of_three(n: int) -> float:
    """Return 3/n, the usual quick bound at 95 % when nothing was wrong in n; at most 1."""
    return min(1.0, 3 / n) if n else 1.0


def characters_to_show(rate: float) -> int:
    """Return how many characters without a single wrong one show that the rate is below `rate` at 95 %.

    Raises:
        ValueError: unless 0 < rate < 1.
    """
    if not 0 < rate < 1:
        raise ValueError(f"a rate to be shown must lie between 0 and 1, not {rate}")
    from math import ceil, log, log1p

    return ceil(log(1 - CONFIDENCE) / log1p(-rate) - 1e-9)
