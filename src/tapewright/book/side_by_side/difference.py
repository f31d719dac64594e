r"""One figure of A and the same figure of B: how far apart, how sure, and one of three answers.

    A   |--x--|                      d = b - a
    B           |--x--|              u^2(d) = (u^2(a) - s^2(a)) + (u^2(b) - s^2(b)) + (s(b) - s(a))^2

s is how far one standard uncertainty of a shared instrument moves each reading (JCGM 100:2008, 5.2.2 with r = 1 for
that part and r = 0 for the rest). With two instruments it is u^2(a) + u^2(b). Differs: |d| > U = 2u. A reading of zero
doubt on both sides never differs by rounding alone.

An interval (go and no-go) is taken at its word: two that overlap could hold the same value, so no difference is shown.
Its u, used only to put rows in order, is that of a rectangle (JCGM 100:2008, 4.3.7). Clause numbers from memory.
"""

import math
from dataclasses import dataclass
from enum import Enum

from tapewright.book.side_by_side.figure import Figure
from tapewright.number import Reading
from tapewright.number.reading import COVERAGE_FACTOR

#: Relative size of binary rounding, as in a verdict.
ROUNDING = 1e-12


class State(Enum):
    """The three answers."""

    DIFFERS = "differs"
    NOT_SHOWN = "no difference shown"
    CANNOT = "cannot be compared"


@dataclass(frozen=True, slots=True)
class Row:
    """One figure side by side.

    Attributes:
        a: as A has it; None where A has no such thing at all.
        b: as B has it.
        difference: B less A with its doubt; None where there is no number to give.
        state: the answer.
        why: why it cannot be compared, or what the answer rests on; may be empty.
        shared: what of the instrument is in both and was taken out of the doubt; empty for nothing.
        sure: whether it would stand out even among all the rows that were compared (see `side_by_side`).
    """

    a: Figure | None
    b: Figure | None
    difference: Reading | None
    state: State
    why: str = ""
    shared: str = ""
    sure: bool = False

    @property
    def figure(self) -> Figure:
        """Either side's figure, for name and group."""
        figure = self.a or self.b
        if figure is None:
            raise ValueError("a row needs at least one side")
        return figure

    @property
    def in_u(self) -> float | None:
        """Size of the difference in standard uncertainties; None where there is no such number."""
        d = self.difference
        if d is None or d.value is None or not d.u:
            return None
        return abs(d.value) / d.u


def difference(a: Figure | None, b: Figure | None, *, one_instrument: bool) -> Row:
    """Lay two figures of the same name side by side.

    Args:
        a: of the first body of evidence.
        b: of the second.
        one_instrument: whether both were taken with the same instrument.
    """
    why = _unlike(a, b)
    if why or a is None or b is None:
        return Row(a, b, None, State.CANNOT, why)
    if a.yes is not None or b.yes is not None:
        return Row(a, b, None, State.DIFFERS if a.yes != b.yes else State.NOT_SHOWN)
    if a.interval or b.interval:
        return _intervals(a, b)
    return _numbers(a, b, one_instrument=one_instrument)


def _unlike(a: Figure | None, b: Figure | None) -> str:
    """Say why two figures cannot be compared; empty when they can."""
    for name, figure in (("A", a), ("B", b)):
        if figure is None:
            return f"{name} has no such reading"
        if figure.empty:
            return f"{name}: {figure.reading.how}"
        if figure.alone:
            return figure.alone if a is not None and b is not None and a.alone == b.alone else f"{name}: {figure.alone}"
    if a is None or b is None:
        return ""
    if a.basis and b.basis and not a.basis.alike(b.basis):
        return f"A {a.basis}, B {b.basis}"
    if (a.yes is None) != (b.yes is None):
        return "one was judged by eye, the other measured"
    if a.reading.unit != b.reading.unit:
        return f"A is in {a.reading.unit}, B in {b.reading.unit}"
    return _no_doubt(a, b)


def _no_doubt(a: Figure, b: Figure) -> str:
    for name, figure in (("A", a), ("B", b)):
        if figure.reading.value is not None and figure.reading.u is None:
            return f"the doubt of {name} is not known"
    return ""


def _numbers(a: Figure, b: Figure, *, one_instrument: bool) -> Row:
    va, vb, ua, ub = a.reading.value or 0.0, b.reading.value or 0.0, a.reading.u or 0.0, b.reading.u or 0.0
    shared = a.shared if one_instrument and a.shared and a.shared == b.shared else ""
    sa, sb = (a.shared_u, b.shared_u) if shared else (0.0, 0.0)
    own = max(ua**2 - sa**2, 0.0) + max(ub**2 - sb**2, 0.0)
    d = Reading(vb - va, math.sqrt(own + (sb - sa) ** 2), a.reading.unit)
    rounding = ROUNDING * max(abs(va), abs(vb))
    differs = abs(vb - va) > COVERAGE_FACTOR * (d.u or 0.0) + rounding
    return Row(a, b, d, State.DIFFERS if differs else State.NOT_SHOWN, shared=shared)


def _intervals(a: Figure, b: Figure) -> Row:
    (la, ha), (lb, hb) = _ends(a), _ends(b)
    apart = ha < lb or hb < la
    ends = (la, ha, lb, hb)
    d = None
    if all(math.isfinite(end) for end in ends):
        u = math.hypot(ha - la, hb - lb) / 2 / math.sqrt(3)
        d = Reading((lb + hb) / 2 - (la + ha) / 2, u, a.reading.unit)
    why = "" if apart else "the intervals overlap"
    return Row(a, b, d, State.DIFFERS if apart else State.NOT_SHOWN, why)


def _ends(figure: Figure) -> tuple[float, float]:
    """Return the interval; of a number that with its expanded uncertainty."""
    if figure.interval:
        return figure.interval
    value, expanded = figure.reading.value or 0.0, figure.reading.expanded or 0.0
    return value - expanded, value + expanded
