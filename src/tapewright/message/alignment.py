r"""Which received code answers which sent code, with losses and extras found before anything is counted.

Picture (one lost code; without alignment everything after it would count as wrong):

    sent      R Y R Y T H E
    received  R Y R - T H E
                    ^ loss

Each way to lay the two rows beside each other has a cost; the cheapest is taken. A changed code is cheaper
than a loss with an extra, few changed elements are cheaper than many, and a run of losses is one event,
not many (affine gaps: O. Gotoh, J. Mol. Biol. 162, 1982, from memory). Of equally cheap ways the one is
taken that matches as long as it can before a gap, so that an extra stands behind the code it repeats.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from tapewright.message.cheapest_way import DIAGONAL, EXTRA, LOSS, cheapest_way


@dataclass(frozen=True, slots=True)
class Pair:
    """One column of an alignment.

    Attributes:
        sent: the code sent, None for an extra.
        received: the code received, None for a loss.
        sent_index: its place in the sent text, from 0; None for an extra.
        received_index: its place in the received text, from 0; None for a loss.
    """

    sent: str | None
    received: str | None
    sent_index: int | None
    received_index: int | None

    @property
    def right(self) -> bool:
        """Whether the code came as it was sent."""
        return self.sent == self.received


@dataclass(frozen=True, slots=True)
class Alignment:
    """Sent and received beside each other.

    Attributes:
        pairs: the columns in order; every sent and every received code stands in exactly one.
        cost: what the alignment costs, in the units of `CHANGED`.
        proven: whether no cheaper one exists (else only none inside the band that was searched).
    """

    pairs: tuple[Pair, ...]
    cost: int
    proven: bool


def align(sent: Sequence[str], received: Sequence[str]) -> Alignment:
    """Align two texts of codes ("11000", element 1 first; all of one length).

    Raises:
        ValueError: when a code is not made of 0 and 1, or the lengths differ.
    """
    check_codes([*sent, *received])
    head = _common(sent, received)
    tail = _common(sent[head:][::-1], received[head:][::-1])
    steps, cost, proven = cheapest_way(sent[head : len(sent) - tail], received[head : len(received) - tail])
    steps = [DIAGONAL] * head + steps
    slid = _slide(steps, sent, received, tail)
    steps = _slid(steps, slid) + [DIAGONAL] * (tail - slid)
    return Alignment(_columns(steps, sent, received), cost, proven)


def check_codes(codes: Sequence[str]) -> None:
    """Raise ValueError unless all codes are made of 0 and 1 and have the same number of elements."""
    for code in codes:
        if not code or set(code) - {"0", "1"} or len(code) != len(codes[0]):
            raise ValueError(f"a code must be {len(codes[0])} elements of 0 and 1, not {code!r}")


def _common(first: Sequence[str], second: Sequence[str]) -> int:
    """Return how many codes at the beginning are the same (matching those never costs more than not doing so)."""
    pairs = zip(first, second, strict=False)
    return next((n for n, (a, b) in enumerate(pairs) if a != b), min(len(first), len(second)))


def _slide(steps: Sequence[int], sent: Sequence[str], received: Sequence[str], tail: int) -> int:
    """Return by how many columns the last run of gaps can move into the common end without costing more."""
    run = _last_run(steps)
    if not run:
        return 0
    # the run begins at `gap` in the text that has more codes here; what it would be matched with stands at `other`
    extra = steps[-1] == EXTRA
    longer, shorter = (received, sent) if extra else (sent, received)
    gap, other = len(longer) - tail - run, len(shorter) - tail
    same = (longer[gap + n] == shorter[other + n] for n in range(tail))
    return next((n for n, equal in enumerate(same) if not equal), tail)


def _last_run(steps: Sequence[int]) -> int:
    if not steps or steps[-1] == DIAGONAL:
        return 0
    return next((n for n, step in enumerate(reversed(steps)) if step != steps[-1]), len(steps))


def _slid(steps: list[int], by: int) -> list[int]:
    run = _last_run(steps)
    return steps[: len(steps) - run] + [DIAGONAL] * by + steps[len(steps) - run :] if by else steps


def _columns(steps: Sequence[int], sent: Sequence[str], received: Sequence[str]) -> tuple[Pair, ...]:
    pairs, i, j = [], 0, 0
    for step in steps:
        a, b = (i if step != EXTRA else None), (j if step != LOSS else None)
        pairs.append(Pair(None if a is None else sent[a], None if b is None else received[b], a, b))
        i, j = i + (a is not None), j + (b is not None)
    return tuple(pairs)
