"""Counts: per kind, per element, per code, and whether an element depends on the character before.

An error that depends on the previous character points at a part that fails to travel one way (friction, a
weak return spring, a late reset), not at timing (common practice, no source). Whether it depends is tested
by Fisher's exact test on, for each element and direction,

                               came wrong   came right
    previous had mark there        a            b
    previous had space there       c            d
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapewright.core.comparison.alignment import Pair
from tapewright.core.comparison.kinds import ErrorKind, Fit

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
        read_as: (code sent, code received) to how often, changed codes only, most first.
    """

    wrong: int
    kinds: dict[ErrorKind, int]
    by_element: tuple[ElementTally, ...]
    by_sent: dict[str, tuple[int, int]]
    by_previous: dict[str, tuple[int, int]]
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
    from scipy.stats import fisher_exact  # half a second to import, and only needed when something is wrong

    (a, b), (c, d) = ([sum(bad is w and before == level for bad, before in after) for w in (True, False)]
                      for level in "10")  # fmt: skip
    p_value = float(fisher_exact(np.array([[a, b], [c, d]])).pvalue)
    return Dependence((a, a + b), (c, c + d), min(1.0, p_value))
