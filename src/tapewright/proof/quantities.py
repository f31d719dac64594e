"""As found beside as left: every quantity that was measured on both sides, or on one.

    change = left - found        said only when it is larger than its U = 2u

The doubt of a change is that of `core.book.side_by_side`: what one instrument brings to both sides (the recorder's
clock, the scanner's scale) moves them together and is taken out; the rest is independent. No instrument named on one
side is another instrument.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from tapewright.book.entry import Entry
from tapewright.book.side_by_side.difference import State as Answer
from tapewright.book.side_by_side.difference import difference
from tapewright.book.side_by_side.figure import Figure, Group, one_instrument
from tapewright.book.side_by_side.side_by_side import figures_of
from tapewright.number import Reading, State
from tapewright.proof.answers import answers_of
from tapewright.proof.document import Compared, Side
from tapewright.proof.lines import Evidence
from tapewright.proof.phases import Chosen
from tapewright.proof.plain import mapping, mappings, reading, spoken, words


@dataclass(frozen=True, slots=True)
class Quantity:
    """One quantity on one side: group and name, as people read it, the number where there is one, the answer."""

    group: str
    what: str
    said: str
    reading: Reading | None
    state: State | None
    line: int
    figure: Figure | None = None


#: what a proof calls it -> what the comparison of machines calls it, where one instrument may have a part in its doubt
SAME_FIGURE: Mapping[str, str] = {
    "unit": "unit",
    "unit length": "unit",
    "speed error": "speed against nominal",
    "feed pitch": "feed pitch",
    "feed pitch, measured": "feed pitch",
    "feed hole diameter": "feed hole, diameter",
    "feed hole oval": "feed hole, oval along the tape",
}
#: figures of a line document beside its verdicts: (part, key, what)
LINE_FIGURES: tuple[tuple[str, str, str], ...] = (
    ("speed", "unit_ms", "unit"),
    ("speed", "ripple_percent", "ripple of the speed"),
    ("distortion", "marking_bias_percent", "marking bias"),
    ("distortion", "end_percent", "end distortion"),
    ("distortion", "synchronous_percent", "synchronous distortion"),
    ("distortion", "scatter_percent", "scatter"),
)
COIL_FIGURES: tuple[tuple[str, str], ...] = (
    ("resistance_ohm", "coil resistance"),
    ("inductance_h", "coil inductance"),
    ("landing_ms", "landing of the armature"),
)


MARGIN_FIGURES: tuple[tuple[str, str], ...] = (
    ("orientation_low", "receiver's range, low end"),
    ("orientation_high", "receiver's range, high end"),
    ("best_setting", "receiver's best setting"),
)


def compare_phases(
    pairs: Sequence[tuple[Chosen, Chosen]],
    lines: Sequence[Entry],
    left_gauges: Sequence[Quantity] = (),
    now: Sequence[Evidence] = (),
) -> tuple[Compared, ...]:
    """Lay as found and as left side by side, sort by sort.

    `left_gauges` stand for the gauges as left; what the evidence chosen as left does not hold is taken from the newest
    of `now`, the evidence of the machine as it now is, that does.
    """
    out: list[Compared] = []
    for found, left in pairs:
        before = quantities(found.evidence, lines)
        gauge = any(c.evidence is not None and c.evidence.sort == "gauge" for c in (found, left))
        after = {(q.group, q.what): q for q in left_gauges} if gauge else quantities(left.evidence, lines)
        if not gauge and left.evidence is not None:
            for other in reversed([e for e in now if e.sort == left.evidence.sort]):
                after = quantities(other, lines) | after
        if found.evidence is not None and left.evidence is not None and found.evidence.entry == left.evidence.entry:
            before = {}  # one measurement cannot be compared with itself
        names = list(dict.fromkeys([*before, *after]))
        pair = (found.evidence, left.evidence)
        one = all(pair) and one_instrument(*(e.entry for e in pair if e))
        out += [_compared(name, before.get(name), after.get(name), one) for name in names]
    return tuple(out)


def quantities(evidence: Evidence | None, lines: Sequence[Entry]) -> dict[tuple[str, str], Quantity]:
    """Return what one piece of evidence says, by group and name, in its order."""
    if evidence is None:
        return {}
    line = evidence.entry.number
    judged = [
        Quantity(a.group, a.check, a.reading, _number(a.value, a.u, a.unit), a.state, line)
        for a in answers_of(evidence, lines)
        if a.reading
    ]
    rest = {"line": _line_figures, "tape": _tape_figures, "coil": _coil_figures, "margin": _margin_figures}.get(
        evidence.sort
    )
    named = {(q.group, q.what): q for q in (rest(evidence.result, line) if rest else [])}
    known = {f.what: f for f in side(evidence.result)} if (side := figures_of(evidence.sort)) else {}
    whole = {(q.group, q.what): q for q in judged} | named
    return {key: replace(q, figure=_figure(q, known)) for key, q in whole.items()}


def _figure(quantity: Quantity, known: Mapping[str, Figure]) -> Figure | None:
    """Return the figure that a quantity is, with what the instrument has in its doubt."""
    same = known.get(SAME_FIGURE.get(quantity.what, ""))
    if quantity.reading is None or quantity.reading.value is None:
        return None
    shared = same if same is not None and same.reading.unit == quantity.reading.unit else None
    return Figure(
        Group.GAUGES,
        quantity.what,
        quantity.reading,
        shared_u=shared.shared_u if shared else 0.0,
        shared=shared.shared if shared else "",
    )


def _number(value: float | None, u: float | None, unit: str) -> Reading | None:
    return None if value is None or unit == "yes" else Reading(value, u, unit)


def _of(group: str, what: str, value: Any, line: int) -> list[Quantity]:
    measured = reading(value)
    return [] if measured is None else [Quantity(group, what, spoken(measured), measured, None, line)]


def _line_figures(result: Mapping[str, Any], line: int) -> list[Quantity]:
    out: list[Quantity] = []
    for part, key, what in LINE_FIGURES:
        out += _of("line", what, mapping(result.get(part)).get(key), line)
    for contact in mappings(result.get("contacts")):
        name = words(contact.get("contact"))
        out += _of("line", f"contact {name} closes (late +)", contact.get("closing_late_ms"), line)
        out += _of("line", f"contact {name} opens (late +)", contact.get("opening_late_ms"), line)
    return out


def _tape_figures(result: Mapping[str, Any], line: int) -> list[Quantity]:
    out: list[Quantity] = []
    for strip in mappings(result.get("strips"))[:1]:
        out += _of("tape", "feed pitch, measured", mapping(strip.get("feed")).get("pitch_mm"), line)
        out += _of("tape", "scatter of the feed", mapping(strip.get("feed")).get("scatter_mm"), line)
        for track in mappings(strip.get("tracks")):
            said = f"{words(track.get('partial'))} of {words(track.get('punched'))}"
            name = f"track {words(track.get('track'))}, holes not cut clean"
            out.append(Quantity("tape", name, said, None, None, line))
    return out


def _coil_figures(result: Mapping[str, Any], line: int) -> list[Quantity]:
    return [quantity for key, what in COIL_FIGURES for quantity in _of("coil", what, result.get(key), line)]


def _margin_figures(result: Mapping[str, Any], line: int) -> list[Quantity]:
    return [quantity for key, what in MARGIN_FIGURES for quantity in _of("margin", what, result.get(key), line)]


def _compared(name: tuple[str, str], found: Quantity | None, left: Quantity | None, one: bool) -> Compared:
    group, what = name
    return Compared(group, what, _side(found), _side(left), _change(found, left, one))


def _side(quantity: Quantity | None) -> Side | None:
    return None if quantity is None else Side(quantity.said, quantity.state, quantity.line)


def _change(found: Quantity | None, left: Quantity | None, one: bool) -> str:
    if found is None or left is None:
        return "not measured as found" if found is None else "not measured as left"
    a, b = found.reading, left.reading
    if a is None or b is None or a.value is None or b.value is None or a.unit != b.unit:
        return "" if found.said != left.said else "the same"
    if a.u is None or b.u is None:
        return "its doubt is not known"
    plain = Figure(Group.GAUGES, found.what, a), Figure(Group.GAUGES, left.what, b)
    row = difference(found.figure or plain[0], left.figure or plain[1], one_instrument=one)
    if row.difference is None or row.state is not Answer.DIFFERS:
        return "no change shown"
    return f"{'+' if b.value > a.value else ''}{spoken(row.difference)}"
