r"""One step of the exact sum over all fault sets, forwards and backwards. Only positive numbers are added.

The table has one axis of length 2 for every open finding: entry 0 = no cause so far brought it about,
1 = some cause did. Taking up cause c with weight w = prior * (chance that its ruled-out findings stay away):

    table(after) = (1 - prior) * table  +  w * table pushed through c's open findings
                                              each: [0, 1] <- [(1-p) * [0],  [1] + p * [0]]

Closing finding f, with evidence (a if present, b if absent) and leak l:

    table(after) = a * table[f=1] + (a*l + b*(1-l)) * table[f=0]

The backward step is the transpose of the same sums. No subtraction anywhere, so nothing cancels.
"""

from collections.abc import Sequence

import numpy as np

from tapewright.advisor.network import FloatArray


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
