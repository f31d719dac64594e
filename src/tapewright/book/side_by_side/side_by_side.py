"""All documents of two sides, figure by figure: the clearest differences first.

With many rows some differ by chance: of n rows without any true difference about n / 22 lie beyond 2u. So each row that
differs also says whether it would stand out among all of them (S. Holm, A simple sequentially rejective multiple test
procedure, Scandinavian Journal of Statistics 6, 1979, 65-70; from memory; 5 % for all rows together, normal
distribution).
"""

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from tapewright.book.side_by_side.difference import Row, State, difference
from tapewright.book.side_by_side.figure import Figure, Group
from tapewright.book.side_by_side.gauge_figures import coil_figures, gauge_figures
from tapewright.book.side_by_side.line_figures import SAME_NOMINAL, line_figures, nominal_baud
from tapewright.book.side_by_side.tape_figures import tape_figures
from tapewright.number.reading import COVERAGE_FACTOR

Document = Mapping[str, Any]
#: Chance that any row at all is called sure where nothing differs (Holm).
FALSE_ALARM = 0.05
#: Chance that a normal value lies beyond 2u.
BEYOND = math.erfc(COVERAGE_FACTOR / math.sqrt(2))


@dataclass(frozen=True, slots=True)
class Pair:
    """One sort of evidence on both sides.

    Attributes:
        sort: "line", "tape", "coil" or "gauge".
        a: document of the first side.
        b: document of the second.
        one_instrument: whether both were taken with the same instrument.
    """

    sort: str
    a: Document
    b: Document
    one_instrument: bool = False


@dataclass(frozen=True, slots=True)
class SideBySide:
    """The comparison.

    Attributes:
        rows: those that differ, by how clearly; then those that do not show it, likewise; then what cannot be compared.
        compared: how many rows could be compared.
        differ: how many of them differ.
        by_chance: how many would differ by chance alone.
    """

    rows: tuple[Row, ...]
    compared: int
    differ: int
    by_chance: float


def lay_side_by_side(pairs: Iterable[Pair]) -> SideBySide:
    """Compare all pairs of documents."""
    rows = [row for pair in pairs for row in _rows(pair)]
    compared = [row for row in rows if row.state is not State.CANNOT]
    rows = _mark_sure(rows, len(compared))
    rows.sort(key=_clearest_first)
    return SideBySide(
        rows=tuple(rows),
        compared=len(compared),
        differ=sum(row.state is State.DIFFERS for row in compared),
        by_chance=BEYOND * sum(row.in_u is not None for row in compared),
    )


def figures_of(sort: str) -> Callable[[Document], Iterator[Figure]] | None:
    """Return what takes a document of this sort apart; None for a sort that holds no figures."""
    table: dict[str, Callable[[Document], Iterator[Figure]]] = {
        "line": partial(line_figures, in_units=False),
        "tape": tape_figures,
        "coil": coil_figures,
        "gauge": gauge_figures,
    }
    return table.get(sort)


def _rows(pair: Pair) -> Iterator[Row]:
    figures = figures_of(pair.sort)
    if figures is None:
        return
    if pair.sort == "line" and not _same_nominal(pair.a, pair.b):
        figures = partial(line_figures, in_units=True)
    a = {figure.what: figure for figure in figures(pair.a)}
    b = {figure.what: figure for figure in figures(pair.b)}
    for what in [*a, *(name for name in b if name not in a)]:
        row = difference(a.get(what), b.get(what), one_instrument=pair.one_instrument)
        if any(side is not None and not side.empty and not side.nothing for side in (row.a, row.b)):
            yield row


def _same_nominal(a: Document, b: Document) -> bool:
    one, other = nominal_baud(a), nominal_baud(b)
    return one is None or other is None or abs(one - other) <= SAME_NOMINAL * max(one, other)


def _clearest_first(row: Row) -> tuple[int, float, int, str]:
    state = {State.DIFFERS: 0, State.NOT_SHOWN: 1, State.CANNOT: 2}[row.state]
    return state, -(math.inf if row.in_u is None else row.in_u), list(Group).index(row.figure.group), row.figure.what


def _mark_sure(rows: list[Row], compared: int) -> list[Row]:
    """Mark the rows that stand out among all; yes against no, and intervals apart, are sure by themselves."""
    by_size = sorted(
        (i for i, row in enumerate(rows) if row.state is State.DIFFERS), key=lambda i: -(rows[i].in_u or math.inf)
    )
    marked, standing = list(rows), True
    for rank, i in enumerate(by_size):
        row = rows[i]
        if row.in_u is None or row.figure.interval:
            marked[i] = replace(row, sure=True)
            continue
        chance = math.erfc(row.in_u / math.sqrt(2))
        standing = standing and chance * (compared - rank) <= FALSE_ALARM
        marked[i] = replace(row, sure=standing)
    return marked
