"""The sums to be done for one set of evidence: what each cause weighs, which findings are open when."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from tapewright.advisor.code_pairs import Step, order_causes
from tapewright.advisor.network import FloatArray, IntArray, Likelihoods, Network
from tapewright.advisor.passes import close_axis, open_axis, push

#: The table has 2 to the power of this many entries at most: 32 MB, a few seconds. More is refused, never cut off.
WIDEST = 22


class TooEntangledError(ValueError):
    """More findings hang together than can be summed exactly in reasonable memory."""

    def __init__(self, width: int) -> None:
        self.width = width
        super().__init__(f"{width} findings hang together; at most {WIDEST} can be summed exactly")


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
