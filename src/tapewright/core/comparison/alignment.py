r"""Which received code answers which sent code, with losses and extras found before anything is counted.

Picture (one lost code; without alignment everything after it would count as wrong):

    sent      R Y R Y T H E
    received  R Y R - T H E
                    ^ loss

Each way to lay the two rows beside each other has a cost; the cheapest is taken. A changed code is cheaper
than a loss with an extra, few changed elements are cheaper than many, and a run of losses is one event,
not many (affine gaps: O. Gotoh, J. Mol. Biol. 162, 1982, from memory). Of equally cheap ways the one is
taken that matches as long as it can before a gap, so that an extra stands behind the code it repeats.

Only a band around the diagonal is searched. It is widened until no way outside it can be cheaper. In a long
text, where that proof would cost seconds, it is widened until the way stays in the inner half of the band; the
answer is then marked as not proven cheapest.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

#: cost of a code with d changed elements: CHANGED + (d - 1); any change costs less than a loss with an extra
CHANGED = 10
#: cost of the first and of each further code of a run of losses, or of a run of extras
FIRST_OF_RUN, NEXT_OF_RUN = 13, 6
FIRST_BAND = 100
#: cells searched for the sake of the proof alone, and at most
CELLS_FOR_PROOF, MOST_CELLS = 2_000_000, 50_000_000
_FAR = np.int32(1 << 28)
_DIAGONAL, _LOSS, _EXTRA = 0, 1, 2
_LOSS_OPENS, _EXTRA_OPENS = 4, 8

IntArray = npt.NDArray[np.int32]


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
    steps, cost, proven = _middle(sent[head : len(sent) - tail], received[head : len(received) - tail])
    steps = [_DIAGONAL] * head + steps
    slid = _slide(steps, sent, received, tail)
    steps = _slid(steps, slid) + [_DIAGONAL] * (tail - slid)
    return Alignment(_columns(steps, sent, received), cost, proven)


def check_codes(codes: Sequence[str]) -> None:
    """Raise ValueError unless all codes are made of 0 and 1 and have the same number of elements."""
    for code in codes:
        if not code or set(code) - {"0", "1"} or len(code) != len(codes[0]):
            raise ValueError(f"a code must be {len(codes[0])} elements of 0 and 1, not {code!r}")


def _common(first: Sequence[str], second: Sequence[str]) -> int:
    """Give how many codes at the beginning are the same (matching those never costs more than not doing so)."""
    pairs = zip(first, second, strict=False)
    return next((n for n, (a, b) in enumerate(pairs) if a != b), min(len(first), len(second)))


def _middle(sent: Sequence[str], received: Sequence[str]) -> tuple[list[int], int, bool]:
    """Search bands of growing width; give the steps, their cost, and whether it is proven the least."""
    if not sent or not received:
        missing = len(sent) + len(received)
        cost = FIRST_OF_RUN + NEXT_OF_RUN * (missing - 1) if missing else 0
        return [_LOSS] * len(sent) + [_EXTRA] * len(received), cost, True
    # searched from the end, so that the way back runs from the beginning and puts gaps as late as it can
    rows = np.array([int(code, 2) for code in reversed(sent)])
    columns = np.array([int(code, 2) for code in reversed(received)])
    costs = _change_costs(len(sent[0]))
    slant, margin = abs(len(sent) - len(received)), FIRST_BAND
    while True:
        steps, cost = _band(rows, columns, costs, margin)
        # a way that leaves the band holds at least this much of losses and extras
        outside = 2 * FIRST_OF_RUN + NEXT_OF_RUN * (2 * margin + slant)
        proven = cost <= outside or margin >= max(len(sent), len(received))
        calm = _strays(steps, len(received) - len(sent)) <= margin / 2
        margin *= 3
        cells = len(sent) * (2 * margin + slant + 1)
        if proven or cells > (CELLS_FOR_PROOF if calm else MOST_CELLS):
            return steps, cost, proven


def _strays(steps: Sequence[int], slant: int) -> int:
    """Give how far a way leaves the stretch between its first and its last diagonal."""
    moves = np.array(steps)
    offset = np.cumsum((moves == _EXTRA).astype(int) - (moves == _LOSS))
    return max(int(offset.max()) - max(0, slant), min(0, slant) - int(offset.min()), 0)


def _change_costs(elements: int) -> IntArray:
    """Give the cost of reading one code for another, shape (2**elements, 2**elements + 1); last column: no code."""
    codes = np.arange(2**elements)
    changed = np.array([bin(code).count("1") for code in codes])[codes[:, None] ^ codes]
    table = np.where(changed > 0, CHANGED - 1 + changed, 0).astype(np.int32)
    return np.hstack([table, np.full((codes.size, 1), _FAR)])


def _band(
    rows: npt.NDArray[np.int_], columns: npt.NDArray[np.int_], costs: IntArray, margin: int
) -> tuple[list[int], int]:
    """Find the cheapest way inside a band; cell c of row i stands for column i + lowest + c."""
    n, m = rows.size, columns.size
    lowest = min(0, m - n) - margin
    width = max(0, m - n) + margin - lowest + 1
    nothing = costs.shape[1] - 1
    padded = np.full(n + width + margin + m + 2, nothing)
    first = margin + n + 1  # where column 1 stands in `padded`
    padded[first : first + m] = columns
    ramp = (NEXT_OF_RUN * np.arange(width)).astype(np.int32)
    at_zero = np.arange(width) + lowest
    best = np.where(at_zero > 0, FIRST_OF_RUN + NEXT_OF_RUN * (at_zero - 1), _FAR).astype(np.int32)
    best[at_zero == 0] = 0
    best[at_zero > m] = _FAR
    loss = np.full(width, _FAR)
    came = np.full((n + 1, width), _EXTRA, dtype=np.uint8)
    came[0, at_zero == 1] |= _EXTRA_OPENS
    for i in range(1, n + 1):
        begin = first + i + lowest - 1
        diagonal = best + costs[rows[i - 1]][padded[begin : begin + width]]
        opened = np.append(best[1:], _FAR) + np.int32(FIRST_OF_RUN)
        loss = np.append(loss[1:], _FAR) + np.int32(NEXT_OF_RUN)
        loss_opens = opened <= loss
        loss = np.minimum(opened, loss)
        either = np.minimum(diagonal, loss)
        extra = np.full(width, _FAR)
        extra[1:] = np.minimum.accumulate(either - ramp)[:-1] + ramp[1:] + np.int32(FIRST_OF_RUN - NEXT_OF_RUN)
        extra_opens = np.zeros(width, dtype=bool)
        extra_opens[1:] = either[:-1] + np.int32(FIRST_OF_RUN) <= extra[1:]
        best = np.minimum(np.minimum(either, extra), _FAR)
        best[max(0, m - i - lowest + 1) :] = _FAR
        step = np.where(diagonal <= best, _DIAGONAL, np.where(loss <= best, _LOSS, _EXTRA))
        came[i] = step + _LOSS_OPENS * loss_opens + _EXTRA_OPENS * extra_opens
    return _way_back(came, n, m, lowest), int(best[m - n - lowest])


def _way_back(came: npt.NDArray[np.uint8], n: int, m: int, lowest: int) -> list[int]:
    """Follow the marks from the last cell; the search ran backwards, so this gives the steps in order."""
    steps: list[int] = []
    i, j, run = n, m, _DIAGONAL
    while i > 0 or j > 0:
        mark = int(came[i, j - i - lowest])
        step = run or mark & 3
        steps.append(step)
        opens = mark & (_LOSS_OPENS if step == _LOSS else _EXTRA_OPENS)
        run = _DIAGONAL if step == _DIAGONAL or opens else step
        i -= step != _EXTRA
        j -= step != _LOSS
    return steps


def _slide(steps: Sequence[int], sent: Sequence[str], received: Sequence[str], tail: int) -> int:
    """Give by how many columns the last run of gaps can move into the common end without costing more."""
    run = _last_run(steps)
    if not run:
        return 0
    # the run begins at `gap` in the text that has more codes here; what it would be matched with stands at `other`
    extra = steps[-1] == _EXTRA
    longer, shorter = (received, sent) if extra else (sent, received)
    gap, other = len(longer) - tail - run, len(shorter) - tail
    same = (longer[gap + n] == shorter[other + n] for n in range(tail))
    return next((n for n, equal in enumerate(same) if not equal), tail)


def _last_run(steps: Sequence[int]) -> int:
    if not steps or steps[-1] == _DIAGONAL:
        return 0
    return next((n for n, step in enumerate(reversed(steps)) if step != steps[-1]), len(steps))


def _slid(steps: list[int], by: int) -> list[int]:
    run = _last_run(steps)
    return steps[: len(steps) - run] + [_DIAGONAL] * by + steps[len(steps) - run :] if by else steps


def _columns(steps: Sequence[int], sent: Sequence[str], received: Sequence[str]) -> tuple[Pair, ...]:
    pairs, i, j = [], 0, 0
    for step in steps:
        a, b = (i if step != _EXTRA else None), (j if step != _LOSS else None)
        pairs.append(Pair(None if a is None else sent[a], None if b is None else received[b], a, b))
        i, j = i + (a is not None), j + (b is not None)
    return tuple(pairs)
