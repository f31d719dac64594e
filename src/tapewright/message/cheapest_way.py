"""The search behind the alignment: the cheapest way through the table of all pairs of codes.

Row i stands for the code sent, column j for the code received; a step down-right is a pair, down a loss, right an
extra (affine gaps: O. Gotoh, J. Mol. Biol. 162, 1982, from memory).

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
CELLS_FOR_PROOF, MOST_CELLS = 1_000_000, 30_000_000
_FAR = np.int32(1 << 28)
#: one column: a pair, a loss, an extra
DIAGONAL, LOSS, EXTRA = 0, 1, 2

IntArray = npt.NDArray[np.int32]
BoolArray = npt.NDArray[np.bool_]


def cheapest_way(sent: Sequence[str], received: Sequence[str]) -> tuple[list[int], int, bool]:
    """Find the cheapest way to lay two texts beside each other.

    Returns:
        the columns in order (`DIAGONAL`, `LOSS` or `EXTRA`), their cost, and whether it is proven the least.
    """
    if not sent or not received:
        missing = len(sent) + len(received)
        cost = FIRST_OF_RUN + NEXT_OF_RUN * (missing - 1) if missing else 0
        return [LOSS] * len(sent) + [EXTRA] * len(received), cost, True
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
    """Return how far a way leaves the stretch between its first and its last diagonal."""
    moves = np.array(steps)
    offset = np.cumsum((moves == EXTRA).astype(int) - (moves == LOSS))
    return max(int(offset.max()) - max(0, slant), min(0, slant) - int(offset.min()), 0)


def _change_costs(elements: int) -> IntArray:
    """Return the cost of reading one code for another, shape (2**elements, 2**elements + 1); last column: no code."""
    codes = np.arange(2**elements)
    changed = np.array([bin(code).count("1") for code in codes])[codes[:, None] ^ codes]
    table = np.where(changed > 0, CHANGED - 1 + changed, 0).astype(np.int32)
    return np.hstack([table, np.full((codes.size, 1), _FAR)])


@dataclass(frozen=True, slots=True, eq=False)
class _Marks:
    """How each cell was reached, all of shape (rows + 1, width): what the way back needs."""

    diagonal: BoolArray
    loss: BoolArray
    loss_opens: BoolArray
    extra_opens: BoolArray

    @classmethod
    def of(cls, rows: int, width: int) -> "_Marks":
        return cls(*(np.zeros((rows + 1, width), dtype=bool) for _ in range(4)))


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
    changing = {symbol: costs[symbol][padded] for symbol in set(rows.tolist())}
    at_zero = np.arange(width) + lowest
    # one cell more than the band is wide: nothing can come from there
    best = np.full(width + 1, _FAR)
    best[:-1] = np.where(at_zero > 0, FIRST_OF_RUN + NEXT_OF_RUN * (at_zero - 1), _FAR)
    best[:-1][at_zero == 0] = 0
    best[:-1][at_zero > m] = _FAR
    marks = _Marks.of(n, width)
    marks.extra_opens[0] = at_zero == 1
    _fill(best, [changing[symbol] for symbol in rows.tolist()], first + lowest, m - lowest, marks)
    return _way_back(marks, n, m, lowest), int(best[m - n - lowest])


def _fill(best: IntArray, changing: Sequence[IntArray], begin: int, last: int, marks: _Marks) -> None:
    """Go through the rows; `best` holds row 0 and then the last one. Row i reads its costs from begin + i - 1 on."""
    width = best.size - 1
    loss, extra, one, two = (np.full(size, _FAR) for size in (width + 1, width, width, width))
    diagonal, either = np.empty_like(one), np.empty_like(one)
    ramp = (NEXT_OF_RUN * np.arange(width)).astype(np.int32)
    ramp_opened = ramp[1:] + np.int32(FIRST_OF_RUN - NEXT_OF_RUN)
    opens, goes_on = np.int32(FIRST_OF_RUN), np.int32(NEXT_OF_RUN)
    for i, cost in enumerate(changing, start=1):
        np.add(best[:-1], cost[begin + i - 1 : begin + i - 1 + width], out=diagonal)
        np.add(best[1:], opens, out=one)
        np.add(loss[1:], goes_on, out=two)
        np.less_equal(one, two, out=marks.loss_opens[i])
        np.minimum(one, two, out=loss[:-1])
        np.minimum(diagonal, loss[:-1], out=either)
        # cheapest run of extras that ends here: the least of (either - ramp) so far; where that is the last, it opens
        np.subtract(either, ramp, out=one)
        np.minimum.accumulate(one, out=two)
        np.equal(one[:-1], two[:-1], out=marks.extra_opens[i, 1:])
        np.add(two[:-1], ramp_opened, out=extra[1:])
        np.minimum(either, extra, out=best[:-1])
        best[max(0, last - i + 1) :] = _FAR
        np.equal(diagonal, best[:-1], out=marks.diagonal[i])
        np.equal(loss[:-1], best[:-1], out=marks.loss[i])


def _way_back(marks: _Marks, n: int, m: int, lowest: int) -> list[int]:
    """Follow the marks from the last cell; the search ran backwards, so this gives the steps in order."""
    steps: list[int] = []
    i, j, run = n, m, DIAGONAL
    while i > 0 or j > 0:
        cell = i, j - i - lowest
        step = run or (DIAGONAL if marks.diagonal[cell] else LOSS if marks.loss[cell] else EXTRA)
        steps.append(step)
        opens = step == DIAGONAL or (marks.loss_opens if step == LOSS else marks.extra_opens)[cell]
        run = DIAGONAL if opens else step
        i -= step != EXTRA
        j -= step != LOSS
    return steps
