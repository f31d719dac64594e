r"""In which order to take up causes and lay down findings, so that few findings are open at a time.

The belief is computed cause by cause. A finding is *open* from the first cause that can bring it about until
the last one; the table that is carried along has two entries for every combination of open findings:

    causes     c1   c2   c3   c4   c5
    finding a  o----o----x                  open from c1 to c3
    finding b       o---------x             open from c2 to c4
    finding c                 o----x        open from c4 to c5
    open       1    2    2    2    1        the table never has more than 2 * 2 entries

Causes of one station stay together, so that the belief in a station can be read off at its two ends.
"""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Step:
    """One cause in the order.

    Attributes:
        cause: its number.
        opens: findings that become open before this cause.
        closes: findings that are closed after it.
    """

    cause: int
    opens: tuple[int, ...]
    closes: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Order:
    """The whole order.

    Attributes:
        stations: (station, its steps), in the order of work.
        width: the largest number of findings open at one time.
    """

    stations: tuple[tuple[int, tuple[Step, ...]], ...]
    width: int


def order_causes(links: Sequence[frozenset[int]], stations: Sequence[int]) -> Order:
    """Order causes station by station, next always what keeps the fewest findings open (greedy).

    Args:
        links: for each cause the findings it can bring about; causes without any are left out.
        stations: for each cause its station.
    """
    waiting: dict[int, list[int]] = {}
    for cause, findings in enumerate(links):
        if findings:
            waiting.setdefault(stations[cause], []).append(cause)
    uses: dict[int, int] = {}
    for findings in links:
        for finding in findings:
            uses[finding] = uses.get(finding, 0) + 1
    table = _Table(links, uses)
    result = []
    while waiting:
        station = min(waiting, key=lambda s: table.cost(waiting[s]))
        result.append((station, tuple(table.take_all(waiting.pop(station)))))
    return Order(tuple(result), table.widest)


class _Table:
    """Which findings are open, while causes are taken one by one."""

    def __init__(self, links: Sequence[frozenset[int]], uses: dict[int, int]) -> None:
        self.links, self.left, self.open, self.widest = links, dict(uses), set[int](), 0

    def cost(self, causes: list[int]) -> tuple[int, int]:
        """Open findings after `causes` were taken, then how many were open at most on the way."""
        opened = set().union(*(self.links[c] for c in causes)) | self.open
        left = dict(self.left)
        for cause in causes:
            for finding in self.links[cause]:
                left[finding] -= 1
        return sum(left[f] > 0 for f in opened), len(opened)

    def take_all(self, causes: list[int]) -> list[Step]:
        """Take the causes of one station, cheapest next."""
        steps, rest = [], list(causes)
        while rest:
            cause = min(rest, key=lambda c: self.cost([c]))
            rest.remove(cause)
            steps.append(self._take(cause))
        return steps

    def _take(self, cause: int) -> Step:
        opens = tuple(sorted(self.links[cause] - self.open))
        self.open |= self.links[cause]
        self.widest = max(self.widest, len(self.open))
        for finding in self.links[cause]:
            self.left[finding] -= 1
        closes = tuple(sorted(f for f in self.links[cause] if self.left[f] == 0))
        self.open -= set(closes)
        return Step(cause, opens, closes)
