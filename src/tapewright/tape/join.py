r"""Several pictures of one tape: pieces put in order by the rows that they share.

Picture:
    piece 2    ....................ABCDEFGH
    piece 1                        ABCDEFGH....................     the last rows of one are the first of another

A pair of pieces is joined where rows agree that could hardly agree by chance: enough of them that are neither blank nor
all holes nor a repetition of the rows just before, and at one place only. A text that repeats itself (RYRY) fits at
many places and is not joined. Pieces that nothing joins follow in the order given, with the gap named.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapewright.message.comparison import IDLE
from tapewright.pictures.picture import BoolArray, IntArray

#: Rows that must tell (five bits each; in a text some three), and how much one that differs takes away.
FEWEST_TELLING, WRONG_COSTS = 6, 3
#: A second place whose rows tell nearly as much makes the first one doubtful.
NEARLY_AS_GOOD = 0.75
#: Share of the rows that may differ.
MOST_WRONG = 0.1
#: A row that repeats one so many rows before tells nothing.
REPEATS = (1, 2)


@dataclass(frozen=True, slots=True)
class Overlap:
    """Rows that two pieces share: the last `rows` of one, the first of the next."""

    rows: int
    telling: int
    wrong: int


@dataclass(frozen=True, slots=True)
class Placed:
    """A piece in its place.

    Attributes:
        piece: its number among those given.
        reversed: read from its other end.
        overlap: rows shared with the one before; None after a gap and at the beginning.
    """

    piece: int
    reversed: bool
    overlap: Overlap | None


def _numbers(codes: Sequence[str]) -> IntArray:
    return np.array([int(code, 2) for code in codes], np.int64)


def _telling(codes: IntArray) -> BoolArray:
    """Return which rows tell where they are, shape (n,)."""
    telling = ~np.isin(codes, [int(code, 2) for code in IDLE])
    for apart in REPEATS:
        telling[apart:] &= codes[apart:] != codes[:-apart]
    return telling


def find_overlap(first: Sequence[str], second: Sequence[str]) -> Overlap | None:
    """Return the rows that the end of one piece shares with the beginning of another; None where that is not sure."""
    a, b = _numbers(first), _numbers(second)
    telling = _telling(a)
    found: list[tuple[int, Overlap]] = []
    for rows in range(FEWEST_TELLING, min(a.size, b.size) + 1):
        same = a[-rows:] == b[:rows]
        wrong = int(rows - same.sum())
        if wrong <= MOST_WRONG * rows:
            tells = int((same & telling[-rows:]).sum())
            found.append((tells - WRONG_COSTS * wrong, Overlap(rows, tells, wrong)))
    found.sort(key=lambda each: -each[0])
    if not found or found[0][0] < FEWEST_TELLING:
        return None
    if len(found) > 1 and found[1][0] >= NEARLY_AS_GOOD * found[0][0]:
        return None
    return found[0][1]


def put_in_order(pieces: Sequence[Sequence[str]], sure: Sequence[bool]) -> list[Placed]:
    """Put pieces in order.

    Args:
        pieces: the codes of each.
        sure: whether it is known which end is the beginning; where not, both are tried.
    """
    nodes = [(n, way) for n in range(len(pieces)) for way in ((False,) if sure[n] else (False, True))]
    codes = {(n, way): tuple(pieces[n][::-1] if way else pieces[n]) for n, way in nodes}
    joints = [
        (overlap.telling - WRONG_COSTS * overlap.wrong, a, b, overlap)
        for a in nodes
        for b in nodes
        if a[0] != b[0] and (overlap := find_overlap(codes[a], codes[b])) is not None
    ]
    joints.sort(key=lambda joint: -joint[0])
    after: dict[int, tuple[int, Overlap]] = {}
    before: dict[int, int] = {}
    way_of: dict[int, bool] = {}
    for _, (a, a_way), (b, b_way), overlap in joints:
        if a in after or b in before or way_of.get(a, a_way) != a_way or way_of.get(b, b_way) != b_way:
            continue
        if _end_of(b, after) == a:
            continue  # a ring
        after[a], before[b] = (b, overlap), a
        way_of[a], way_of[b] = a_way, b_way
    placed = []
    for start in range(len(pieces)):
        if start in before:
            continue
        here, shared = start, None
        while True:
            placed.append(Placed(here, way_of.get(here, False), shared))
            if here not in after:
                break
            here, shared = after[here]
    return placed


def _end_of(piece: int, after: dict[int, tuple[int, Overlap]]) -> int:
    while piece in after:
        piece = after[piece][0]
    return piece
