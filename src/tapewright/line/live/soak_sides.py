r"""The sides of a soak: before and after each adjustment, counted and timed by themselves, and what each shows.

    |== side 1: as it was ==|  turned  |== side 2: after "screw B a quarter" ==|
                            ^ what was not settled, or came while a screw was being turned, belongs to neither

A side that is closed keeps its figures, not what they were made from, so that memory stays the same.

What n characters with w wrong show about the share p that comes wrong, at 95 % confidence:

    one by one     P(at most w wrong of n | p) = 0.05                     Clopper and Pearson (message.rate)
    bursts or not  largest p with  m [q ln(q/p) + (1 - q) ln((1 - q)/(1 - p))] <= ln 20,  q = w/n

where m is the number of independent blocks: n over a block of 100 characters, or of four times the longest stretch out
of step. The second is Chernoff's bound for the mean of m independent numbers between 0 and 1 (W. Hoeffding, J. Am.
Stat. Assoc. 58 (1963), theorem 1), and holds however the errors lie within a block. Errors nearer than eight right
ones are one event; events are counted as coming one by one (Poisson), with the exact interval of F. Garwood,
Biometrika 28 (1936). Blocks with anything wrong in them are counted as ITU-T G.821 counts errored seconds. All four
from memory.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

import msgspec

from tapewright.message.rate import CONFIDENCE, ErrorRate, error_rate

Count = Annotated[int, msgspec.Meta(ge=0)]
Number = Annotated[float, msgspec.Meta(ge=0)]
#: characters of a block; a block is so many times as long as the longest stretch out of step, where that is more
BLOCK, BLOCKS_OF_A_STRETCH = 100, 4

#: a soak that was adjusted more often than this wants a new beginning
MOST_SIDES = 50
#: what a side counts
COUNTS = ("characters", "changed", "lost", "extra", "stray", "out_of_step", "longest_stray", "blocks",
          "errored_blocks", "events", "broken", "gaps")  # fmt: skip
#: fewer blocks, or errors, than this do not show whether errors come in bursts
FEWEST_BLOCKS = 5
#: fewer characters than this make no mean of a bin worth comparing
FEWEST_IN_BIN = 20


class Bin(msgspec.Struct):
    """The units of some time: number, sum, sum of squares (of milliseconds)."""

    n: Count = 0
    total: Number = 0.0
    squares: Number = 0.0

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


class Side(msgspec.Struct, frozen=True):
    """What was counted between two adjustments.

    Attributes:
        label: what was done before it; empty for the first.
        seconds: of line.
        characters: columns of the alignments settled.
        changed, lost, extra, stray: the errors.
        out_of_step, longest_stray, blocks, errored_blocks, events, broken, gaps: as in the whole soak.
        unit_ms: mean unit; below 0 when there is none.
        unit_u_ms: its standard uncertainty, drift and all.
        drift_percent: first part to last, faster positive; None when that is not shown.
        drift_u_percent: its standard uncertainty.
        ripple_percent: largest shown; 0 for none.

    Raises:
        ValueError: for more wrong than there were.
    """

    label: str
    seconds: Number
    characters: Count
    changed: Count
    lost: Count
    extra: Count
    out_of_step: Count
    broken: Count
    gaps: Count
    unit_ms: float
    unit_u_ms: Number
    drift_percent: float | None
    drift_u_percent: float | None
    ripple_percent: Number
    # a state of an earlier version has not these
    stray: Count = 0
    longest_stray: Count = 0
    blocks: Count = 0
    errored_blocks: Count = 0
    events: Count = 0

    def __post_init__(self) -> None:
        if self.wrong > self.characters:
            raise ValueError("more wrong than there were")

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
    def burst_rate_upper_95(self) -> float:
        """Bound of the share of wrong characters that holds bursts or not; 1 when that is all that is shown."""
        longest = max(BLOCK, BLOCKS_OF_A_STRETCH * self.longest_stray)
        return _highest(self.wrong / self.characters, self.characters // longest) if self.characters else 1.0

    @property
    def event_rate(self) -> ErrorRate:
        """Events a character with the upper bound."""
        return error_rate(self.events, self.characters)

    def minutes_between_events(self) -> tuple[float | None, float, float | None]:
        """Return the mean time between events, min, and the ends of its interval (95 %, two-sided).

        Garwood: between 2 T / chi2(0.975; 2 k + 2) and 2 T / chi2(0.025; 2 k) for k events in T.
        """
        from scipy.special import gammaincinv  # chi2(q; 2 k) is twice this at k

        minutes, tail = self.seconds / 60, (1 - CONFIDENCE) / 2
        low = minutes / float(gammaincinv(self.events + 1, 1 - tail))
        if not self.events:
            return None, low, None
        return minutes / self.events, low, minutes / float(gammaincinv(self.events, tail))

    @property
    def shown_upper_95(self) -> float:
        """The bound that may be claimed: the one for errors one by one only where they do not come in bursts."""
        return self.burst_rate_upper_95 if self.in_bursts else self.rate.upper_95

    @property
    def lower_95(self) -> float:
        """The share of wrong characters is above this (95 %), by the number of events if they come in bursts."""
        wrong = self.events if self.in_bursts else self.wrong
        return 1 - error_rate(self.characters - wrong, self.characters).upper_95 if wrong else 0.0

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


def _highest(mean: float, blocks: int) -> float:
    """Return the largest p that m blocks of this mean do not rule out, by halving."""
    if not blocks or mean >= 1:
        return 1.0

    def distance(p: float) -> float:
        wrong = mean * math.log(mean / p) if mean else 0.0
        return blocks * (wrong + (1 - mean) * math.log((1 - mean) / (1 - p)))

    low, high = max(mean, 1e-300), 1.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if middle < 1 and distance(middle) <= -math.log(1 - CONFIDENCE) else (low, middle)
    return high


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
