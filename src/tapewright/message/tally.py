"""Counts: per kind, per element, per code, and whether an element depends on the character before.

An error that depends on the previous character points at a part that fails to travel one way (friction, a
weak return spring, a late reset), not at timing (common practice, no source). Whether it depends is tested
by Fisher's exact test on, for each element and direction,

                               came wrong   came right
    previous had mark there        a            b
    previous had space there       c            d

A mark alone between two spaces is the first to go when a magnet pulls in slowly, a space alone between two marks
when it releases slowly (derived; the start counts as a space, the stop as a mark). The same test tells whether
lone elements come wrong more often than the others.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapewright.message.alignment import Pair
from tapewright.message.kinds import ErrorKind, Fit

#: with fewer wrong elements than this no table can be told from chance
FEWEST_FOR_DEPENDENCE = 3

Column = tuple[Pair, str | None, Fit | None]


@dataclass(frozen=True, slots=True)
class Dependence:
    """Whether an element comes wrong more often after one state of the same element than after the other.

    Attributes:
        after_mark: (wrong, all) when the previous character sent had a mark in this element.
        after_space: the same when it had a space.
        p_value: chance of so uneven a table when nothing depends (Fisher's exact test, two-sided).
    """

    after_mark: tuple[int, int]
    after_space: tuple[int, int]
    p_value: float


@dataclass(frozen=True, slots=True)
class Loneliness:
    """Whether elements alone between two of the other kind come wrong more often than their like.

    Attributes:
        lone: (wrong, all) of those between two others.
        joined: (wrong, all) of those with one of their own kind beside them.
        p_value: chance of so uneven a table when it does not matter (Fisher's exact test, two-sided).
    """

    lone: tuple[int, int]
    joined: tuple[int, int]
    p_value: float


@dataclass(frozen=True, slots=True)
class ElementTally:
    """What happened to one element, over all characters that were neither lost nor extra.

    Attributes:
        element: its number, from 1.
        dropped_marks: marks sent that came as space.
        marks: marks sent.
        dropped_spaces: spaces sent that came as mark.
        spaces: spaces sent.
        mark_dependence: dropped marks against the previous character; None when there are too few.
        space_dependence: the same for dropped spaces.
    """

    element: int
    dropped_marks: int
    marks: int
    dropped_spaces: int
    spaces: int
    mark_dependence: Dependence | None
    space_dependence: Dependence | None


@dataclass(frozen=True, slots=True)
class Tally:
    """The counts of one comparison.

    Attributes:
        wrong: columns that did not come right: changed, lost and extra.
        kinds: number of wrong columns of each kind, by the best fit; only kinds that occur, most first.
        by_element: one entry per element; empty when no character came at all.
        by_sent: code sent to (wrong, all).
        by_previous: previous code sent to (wrong, all).
        lone_marks: lone marks against other marks; None when too few marks came wrong.
        lone_spaces: the same for spaces.
        read_as: (code sent, code received) to how often, changed codes only, most first.
    """

    wrong: int
    kinds: dict[ErrorKind, int]
    by_element: tuple[ElementTally, ...]
    by_sent: dict[str, tuple[int, int]]
    by_previous: dict[str, tuple[int, int]]
    lone_marks: Loneliness | None
    lone_spaces: Loneliness | None
    read_as: dict[tuple[str, str], int]


def tally(columns: Sequence[Column]) -> Tally:
    """Count columns of (pair, previous code sent, best fit or None when right)."""
    kinds = Counter(fit.kind for _, _, fit in columns if fit is not None)
    changed = Counter((p.sent, p.received) for p, _, _ in columns if p.sent and p.received and not p.right)
    return Tally(
        wrong=kinds.total(),
        kinds=dict(sorted(kinds.items(), key=lambda item: (-item[1], item[0].value))),
        by_element=_by_element(columns),
        by_sent=_wrong_of_all([(pair.sent, fit is not None) for pair, _, fit in columns]),
        by_previous=_wrong_of_all([(previous, fit is not None) for _, previous, fit in columns]),
        lone_marks=_loneliness(columns, "1"),
        lone_spaces=_loneliness(columns, "0"),
        read_as={(str(a), str(b)): n for (a, b), n in sorted(changed.items(), key=lambda item: (-item[1], item[0]))},
    )


def _wrong_of_all(codes: Sequence[tuple[str | None, bool]]) -> dict[str, tuple[int, int]]:
    wrong, every = Counter(code for code, bad in codes if bad), Counter(code for code, _ in codes)
    return {code: (wrong[code], n) for code, n in sorted(every.items(), key=lambda item: item[0] or "") if code}


def _by_element(columns: Sequence[Column]) -> tuple[ElementTally, ...]:
    triples = [(p.sent, p.received, previous) for p, previous, _ in columns if p.sent and p.received]
    length = len(triples[0][0]) if triples else 0
    return tuple(_one_element(triples, at) for at in range(length))


def _one_element(triples: Sequence[tuple[str, str, str | None]], at: int) -> ElementTally:
    counted: dict[str, tuple[int, int, Dependence | None]] = {}
    for level in "10":
        here = [(got[at] != level, before) for sent, got, before in triples if sent[at] == level]
        wrong = sum(bad for bad, _ in here)
        after = [(bad, before[at]) for bad, before in here if before is not None]
        counted[level] = (wrong, len(here), _dependence(after) if wrong >= FEWEST_FOR_DEPENDENCE else None)
    return ElementTally(at + 1, *counted["1"][:2], *counted["0"][:2], counted["1"][2], counted["0"][2])


def _dependence(after: Sequence[tuple[bool, str]]) -> Dependence:
    marks, spaces = (_wrong_and_all([bad for bad, before in after if before == level]) for level in "10")
    return Dependence(marks, spaces, _chance(marks, spaces))


def _loneliness(columns: Sequence[Column], level: str) -> Loneliness | None:
    seen: list[tuple[bool, bool]] = []
    for pair, _, _ in columns:
        if pair.sent and pair.received:
            around = f"0{pair.sent}1"  # start and stop
            seen += [
                (pair.received[n] != level, level not in (around[n], around[n + 2]))
                for n, element in enumerate(pair.sent)
                if element == level
            ]
    if sum(bad for bad, _ in seen) < FEWEST_FOR_DEPENDENCE:
        return None
    lone, joined = (_wrong_and_all([bad for bad, alone in seen if alone is which]) for which in (True, False))
    return Loneliness(lone, joined, _chance(lone, joined))


def _wrong_and_all(bad: Sequence[bool]) -> tuple[int, int]:
    return sum(bad), len(bad)


def _chance(first: tuple[int, int], second: tuple[int, int]) -> float:
    from scipy.stats import fisher_exact  # half a second to import, and only needed when something is wrong

    table = np.array([[wrong, every - wrong] for wrong, every in (first, second)])
    return min(1.0, float(fisher_exact(table).pvalue))
