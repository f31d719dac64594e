"""The sides of a soak: before and after each adjustment, counted and timed by themselves.

    |== side 1: as it was ==|  turned  |== side 2: after "screw B a quarter" ==|
                            ^ what was not settled, or came while a screw was being turned, belongs to neither

A side that is closed keeps its figures, not what they were made from, so that memory stays the same.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tapewright.message.rate import ErrorRate, error_rate

#: a soak that was adjusted more often than this wants a new beginning
MOST_SIDES = 50
#: what a side counts
COUNTS = ("characters", "changed", "lost", "extra", "stray", "out_of_step", "longest_stray", "blocks", "errored_blocks",
          "broken", "gaps")  # fmt: skip
#: fewer blocks, or errors, than this do not show whether errors come in bursts
FEWEST_BLOCKS = 5
#: fewer characters than this make no mean of a bin worth comparing
FEWEST_IN_BIN = 20


@dataclass(slots=True)
class Bin:
    """The units of some time: number, sum, sum of squares (of milliseconds)."""

    n: int = 0
    total: float = 0.0
    squares: float = 0.0

    def take(self, value: float) -> None:
        """Take one unit in."""
        self.n, self.total, self.squares = self.n + 1, self.total + value, self.squares + value * value

    def joined(self, other: "Bin") -> "Bin":
        """Return both in one."""
        return Bin(self.n + other.n, self.total + other.total, self.squares + other.squares)

    @property
    def mean(self) -> float:
        """Mean unit."""
        return self.total / self.n

    @property
    def u(self) -> float:
        """Standard uncertainty of the mean (JCGM 100:2008, 4.2.3)."""
        variance = max(self.squares - self.n * self.mean**2, 0.0) / (self.n - 1) if self.n > 1 else 0.0
        return math.sqrt(variance / self.n)


@dataclass(frozen=True, slots=True)
class Side:
    """What was counted between two adjustments.

    Attributes:
        label: what was done before it; empty for the first.
        seconds: of line.
        characters: columns of the alignments settled.
        changed, lost, extra, stray: the errors.
        out_of_step, longest_stray, blocks, errored_blocks, broken, gaps: as in the whole soak.
        unit_ms: mean unit; below 0 when there is none.
        unit_u_ms: its standard uncertainty, drift and all.
        drift_percent: first part to last, faster positive; None when that is not shown.
        drift_u_percent: its standard uncertainty.
        ripple_percent: largest shown; 0 for none.
    """

    label: str
    seconds: float
    characters: int
    changed: int
    lost: int
    extra: int
    stray: int
    out_of_step: int
    longest_stray: int
    blocks: int
    errored_blocks: int
    broken: int
    gaps: int
    unit_ms: float
    unit_u_ms: float
    drift_percent: float | None
    drift_u_percent: float | None
    ripple_percent: float

    @property
    def wrong(self) -> int:
        """All errors."""
        return self.changed + self.lost + self.extra + self.stray

    @property
    def rate(self) -> ErrorRate:
        """Share of errors with its upper bound."""
        return error_rate(self.wrong, self.characters)

    @property
    def block_rate(self) -> ErrorRate:
        """Share of errored blocks with its upper bound: it holds for errors in bursts too, blocks being independent."""
        return error_rate(self.errored_blocks, self.blocks)

    @property
    def in_bursts(self) -> bool:
        """Whether the errors come in bursts: in fewer blocks than so many alone would, all but once in a hundred.

        Alone, w errors fall into b blocks at random; the expected number of errored ones is b (1 - (1 - 1/b)^w), its
        variance at most that (occupancy: W. Feller, An Introduction to Probability Theory I, from memory).
        """
        if self.blocks < FEWEST_BLOCKS or self.wrong < FEWEST_BLOCKS:
            return self.out_of_step > 0
        alone = self.blocks * (1 - (1 - 1 / self.blocks) ** self.wrong)
        return self.errored_blocks < alone - 2.33 * math.sqrt(alone)


def mean_unit(bins: Sequence[Bin]) -> tuple[float, float]:
    """Return the mean unit over all bins and its u, ms; (-1, 0) when there is too little.

    The u is the larger of that of the mean of all, and of the mean of the bins' means: where the speed wanders over
    minutes, single characters are not independent.
    """
    good = [b for b in bins if b.n >= FEWEST_IN_BIN]
    if not good:
        return -1.0, 0.0
    whole = good[0]
    for b in good[1:]:
        whole = whole.joined(b)
    spread = sum((b.mean - whole.mean) ** 2 for b in good) / (len(good) - 1) if len(good) > 1 else 0.0
    return whole.mean, max(whole.u, math.sqrt(spread / len(good)))


def drift(bins: Sequence[Bin]) -> tuple[float, float] | None:
    """Return the change of speed from the first bin to the last, per cent (faster positive), and its u."""
    good = [b for b in bins if b.n >= FEWEST_IN_BIN]
    if len(good) < 2:
        return None
    first, last = good[0], good[-1]
    change = 100 * (first.mean / last.mean - 1)
    return change, 100 * math.hypot(first.u / first.mean, last.u / last.mean)


@dataclass(frozen=True, slots=True)
class Between:
    """What an adjustment did, as far as a soak shows it.

    Attributes:
        faster_percent: change of speed; None when one side has none.
        u_percent: its standard uncertainty.
        p: chance of rates of errors so far apart, were they the same on both sides (Fisher's exact test, two-sided).
        rates_differ: whether they are shown to differ: p below 0.05.
    """

    faster_percent: float | None
    u_percent: float | None
    p: float | None
    rates_differ: bool


#: chance below which two rates of errors are shown to differ: 95 % confidence, as everywhere
LEAST_CHANCE = 0.05


def between(before: Side, after: Side) -> Between:
    """Lay two sides beside each other (Fisher's exact test: R. A. Fisher, J. R. Stat. Soc. 85 (1922), from memory)."""
    p = None
    if before.characters and after.characters:
        import numpy as np
        from scipy.stats import fisher_exact  # costs half a second, and only here

        table = np.array([[side.wrong, side.characters - side.wrong] for side in (before, after)])
        p = float(fisher_exact(table)[1])
    if before.unit_ms <= 0 or after.unit_ms <= 0:
        return Between(None, None, p, p is not None and p < LEAST_CHANCE)
    faster = 100 * (before.unit_ms / after.unit_ms - 1)
    u = 100 * math.hypot(before.unit_u_ms / before.unit_ms, after.unit_u_ms / after.unit_ms)
    return Between(faster, u, p, p is not None and p < LEAST_CHANCE)
