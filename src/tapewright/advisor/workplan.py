r"""The sums to be done for one set of evidence: what each cause weighs, which findings are open when.

In which order to take up causes and lay down findings, so that few findings are open at a time.

The belief is computed cause by cause. A finding is *open* from the first cause that can bring it about until
the last one; the table that is carried along has two entries for every combination of open findings:

    causes     c1   c2   c3   c4   c5
    finding a  o----o----x                  open from c1 to c3
    finding b       o---------x             open from c2 to c4
    finding c                 o----x        open from c4 to c5
    open       1    2    2    2    1        the table never has more than 2 * 2 entries

Causes of one station stay together, so that the belief in a station can be read off at its two ends.

One step of the exact sum over all fault sets, forwards and backwards. Only positive numbers are added.

The table has one axis of length 2 for every open finding: entry 0 = no cause so far brought it about,
1 = some cause did. Taking up cause c with weight w = prior * (chance that its ruled-out findings stay away):

    table(after) = (1 - prior) * table  +  w * table pushed through c's open findings
                                              each: [0, 1] <- [(1-p) * [0],  [1] + p * [0]]

Closing finding f, with evidence (a if present, b if absent) and leak l:

    table(after) = a * table[f=1] + (a*l + b*(1-l)) * table[f=0]

The backward step is the transpose of the same sums. No subtraction anywhere, so nothing cancels.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from tapewright.advisor.network import FloatArray, IntArray, Likelihoods, Network

#: The table has 2 to the power of this many entries at most: 32 MB, a few seconds. More is refused, never cut off.
WIDEST = 22


class TooEntangledError(ValueError):
    """More findings hang together than can be summed exactly in reasonable memory."""

    def __init__(self, width: int) -> None:
        self.width = width
        super().__init__(f"{width} findings hang together; at most {WIDEST} can be summed exactly")


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


def open_axis(table: FloatArray) -> FloatArray:
    """Return the table with a new first axis: nothing has brought the finding about yet."""
    return np.stack([table, np.zeros_like(table)])


def close_axis(table: FloatArray, axis: int, if_reached: float, if_not: float) -> FloatArray:
    """Sum the finding out: its evidence weighs the two halves."""
    reached, not_reached = np.take(table, 1, axis), np.take(table, 0, axis)
    return np.asarray(if_reached * reached + if_not * not_reached)


def reopen_axis(onward: FloatArray, axis: int, if_reached: float, if_not: float) -> FloatArray:
    """Transpose of `close_axis`."""
    return np.stack([if_not * onward, if_reached * onward], axis=axis)


def push(table: FloatArray, axes: Sequence[int], strengths: Sequence[float]) -> None:
    """Let a present cause bring about its open findings; changes `table`."""
    for axis, p in zip(axes, strengths, strict=True):
        zero, one = _halves(table, axis)
        one += p * zero
        zero *= 1.0 - p


def pull(onward: FloatArray, axes: Sequence[int], strengths: Sequence[float]) -> None:
    """Transpose of `push`; changes `onward`."""
    for axis, p in zip(reversed(axes), reversed(strengths), strict=True):
        zero, one = _halves(onward, axis)
        zero *= 1.0 - p
        zero += p * one


def _halves(table: FloatArray, axis: int) -> tuple[FloatArray, FloatArray]:
    before = (slice(None),) * axis
    # slices, not numbers: a table with one axis must give views, not copied scalars
    return table[(*before, slice(0, 1))], table[(*before, slice(1, 2))]


@dataclass(frozen=True, slots=True, eq=False)
class Move:
    """One cause taken up, with the axes it works on.

    Attributes:
        cause: its number.
        opens: how many axes are added in front before it.
        axes, strengths: the axes it can push, and how strongly.
        closes: (finding, axis) summed out after it, one after the other.
    """

    cause: int
    opens: int
    axes: tuple[int, ...]
    strengths: tuple[float, ...]
    closes: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Workplan:
    """Everything the forward and backward sums need.

    Attributes:
        on, off: shape (n,), weight of each cause present and absent, ruled-out findings counted in.
        if_reached, if_not: shape (m,), weight of a closed finding that some cause brought about, or none.
        leak_only: shape (m,), the part of `if_not` in which the finding is there all the same.
        stations: (station, its moves) in the order of work.
        apart: causes that can bring about none of the open findings: they stand alone.
        apart_findings: examined findings, not ruled out, that no cause can bring about.
        log_constant: logarithm of the factors that are the same for every fault set.
        width: the largest number of findings open at one time.
    """

    on: FloatArray
    off: FloatArray
    if_reached: FloatArray
    if_not: FloatArray
    leak_only: FloatArray
    stations: tuple[tuple[int, tuple[Move, ...]], ...]
    apart: IntArray
    apart_findings: IntArray
    log_constant: float
    width: int


def make_workplan(network: Network, evidence: Likelihoods) -> Workplan:
    """Lay out the sums.

    Raises:
        TooEntangledError: when the table would become too large.
        ValueError: when the evidence cannot have happened.
    """
    out = evidence.ruled_out
    open_findings = evidence.examined & ~out
    reach = (network.strength > 0) & (network.prior > 0)[:, None] & open_findings[None, :]
    links = [frozenset(np.flatnonzero(row).tolist()) for row in reach]
    order = order_causes(links, network.station.tolist())
    if order.width > WIDEST:
        raise TooEntangledError(order.width)
    scale = np.maximum(evidence.if_present, evidence.if_absent)
    a, b = evidence.if_present / scale, evidence.if_absent / scale
    constant = float(np.sum(np.log(scale)) + _log_sum(1.0 - network.leak[out]))
    axes: list[int] = []
    stations = tuple((s, tuple(_move(step, axes, network) for step in steps)) for s, steps in order.stations)
    return Workplan(
        on=network.prior * np.prod(1.0 - network.strength[:, out], axis=1),
        off=1.0 - network.prior,
        if_reached=a,
        if_not=a * network.leak + b * (1.0 - network.leak),
        leak_only=a * network.leak,
        stations=stations,
        apart=np.array([c for c, findings in enumerate(links) if not findings], dtype=np.int64),
        apart_findings=np.flatnonzero(open_findings & ~reach.any(axis=0)),
        log_constant=constant,
        width=order.width,
    )


def _move(step: Step, axes: list[int], network: Network) -> Move:
    for finding in step.opens:
        axes.insert(0, finding)
    mine = [(place, finding) for place, finding in enumerate(axes) if network.strength[step.cause, finding] > 0]
    closes = []
    for finding in step.closes:
        closes.append((finding, axes.index(finding)))
        axes.remove(finding)
    strengths = tuple(float(network.strength[step.cause, finding]) for _, finding in mine)
    return Move(step.cause, len(step.opens), tuple(place for place, _ in mine), strengths, tuple(closes))


def _log_sum(values: FloatArray) -> float:
    if np.any(values <= 0):
        raise ValueError("a finding that is always there was reported absent: that evidence cannot have happened")
    return float(np.sum(np.log(values)))


def opened(table: FloatArray, move: Move) -> FloatArray:
    """Add the axes a move needs."""
    for _ in range(move.opens):
        table = open_axis(table)
    return table


def mixed(table: FloatArray, move: Move, plan: Workplan) -> FloatArray:
    """Take up the cause: absent, or present and pushing."""
    present = plan.on[move.cause] * table
    push(present, move.axes, move.strengths)
    return np.asarray(plan.off[move.cause] * table + present)


def closings(table: FloatArray, move: Move, plan: Workplan) -> Iterator[FloatArray]:
    """Return the table before each closing, then the table after the last."""
    yield table
    for finding, axis in move.closes:
        table = close_axis(table, axis, float(plan.if_reached[finding]), float(plan.if_not[finding]))
        yield table


def forward(table: FloatArray, moves: tuple[Move, ...], plan: Workplan, *, absent: bool = False) -> list[FloatArray]:
    """Return the table before each move, and the table after the last.

    With `absent` all these causes are kept absent (for the belief in a station as a whole).
    """
    tables = [table]
    for move in moves:
        wide = opened(tables[-1], move)
        wide = plan.off[move.cause] * wide if absent else mixed(wide, move, plan)
        *_, after = closings(wide, move, plan)
        tables.append(after)
    return tables
