"""Two machines side by side, or one at two dates: choose the evidence, compare it, say what to keep in mind."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import Any

from tapewright.book.entry import Entry, MachineOnShelf
from tapewright.book.kinds import SORTS
from tapewright.book.ports import Book
from tapewright.book.side_by_side.figure import instrument_of, one_instrument
from tapewright.book.side_by_side.side_by_side import Pair, SideBySide, figures_of, lay_side_by_side
from tapewright.book.standing import withdrawn
from tapewright.errors import WrongUseError
from tapewright.furniture.phases import PHASES

#: Rooms nearer than this, and runs whose lengths are nearer than that share, are alike (ours).
SAME_TEMPERATURE_C, SAME_RUN = 3.0, 2.0
#: sorts of evidence that hold figures
COMPARED = tuple(sort for sort in SORTS if figures_of(sort) is not None)


@dataclass(frozen=True, slots=True)
class Moment:
    """Which evidence of a machine is meant.

    Attributes:
        phase: "as found", "between" or "as left"; None for any.
        until: only what was written up to then; None for all.
    """

    phase: str | None = None
    until: datetime | None = None

    def holds(self, entry: Entry) -> bool:
        """Return whether this evidence is meant."""
        in_phase = self.phase is None or entry.new.body.get("phase") == self.phase
        return in_phase and (self.until is None or entry.at <= self.until)

    def __str__(self) -> str:
        """Say it as a heading does."""
        words = [self.phase or "newest"]
        return " ".join([*words, f"up to {self.until:%Y-%m-%d %H:%M} UTC"]) if self.until else words[0]


@dataclass(frozen=True, slots=True)
class Side:
    """One side of the comparison.

    Attributes:
        machine: whose it is.
        moment: which evidence was asked for.
        evidence: sort -> the entry used, the newest that was meant and not replaced.
        passed_over: sort -> how many older ones were meant too and not used.
    """

    machine: MachineOnShelf
    moment: Moment
    evidence: Mapping[str, Entry]
    passed_over: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Compared:
    """The comparison with both sides.

    Attributes:
        a: the first side.
        b: the second; differences are B less A.
        result: the rows.
        mind: what to keep in mind, one sentence each: unlike conditions, evidence that only one side has.
    """

    a: Side
    b: Side
    result: SideBySide
    mind: tuple[str, ...]


def moment_of(text: str | None, option: str) -> Moment:
    """Understand "as-found", "between", "as-left", a date (its last instant, UTC) or a time in ISO 8601.

    Raises:
        WrongUseError: for anything else.
    """
    if text is None:
        return Moment()
    phase = text.replace("-", " ").lower()
    if phase in PHASES:
        return Moment(phase=phase)
    try:
        if len(text) == len("2026-03-01"):
            return Moment(until=datetime.combine(date.fromisoformat(text), time.max, UTC))
        until = datetime.fromisoformat(text)
    except ValueError:
        phases = ", ".join(p.replace(" ", "-") for p in PHASES)
        raise WrongUseError(f"{option}: expected {phases}, or a date such as 2026-03-01; found {text!r}.") from None
    return Moment(until=until if until.tzinfo else until.replace(tzinfo=UTC))


def compare_machines(book: Book, a: str, b: str, at_a: Moment, at_b: Moment) -> Compared:
    """Compare two machines, or one with itself.

    Raises:
        InputError: when the book has no such machine.
    """
    one, other = choose(book, a, at_a), choose(book, b, at_b)
    pairs = [
        Pair(sort, result_of(x), result_of(y), one_instrument(x, y))
        for sort in COMPARED
        if (x := one.evidence.get(sort)) and (y := other.evidence.get(sort))
    ]
    return Compared(one, other, lay_side_by_side(pairs), tuple(_mind(one, other)))


def choose(book: Book, name: str, moment: Moment) -> Side:
    """Choose the evidence of one side: of each sort the newest that is meant and that no later line replaces."""
    machine = book.machine(name)
    gone = {each.line.key for each in withdrawn(book.entries(machine.key, kinds=("evidence",)))}
    chosen: dict[str, Entry] = {}
    passed_over: dict[str, int] = {}
    for sort in COMPARED:
        meant = [
            entry
            for entry in book.entries(machine.key, kinds=("evidence",), sort=sort)
            if moment.holds(entry) and entry.key not in gone
        ]
        if meant:
            chosen[sort], passed_over[sort] = meant[0], len(meant) - 1
    return Side(machine, moment, chosen, passed_over)


def result_of(entry: Entry) -> Mapping[str, Any]:
    """Return the result document that a line of evidence carries; an empty one when it carries none."""
    result = entry.new.body.get("result")
    return result if isinstance(result, Mapping) else {}


def _mind(a: Side, b: Side) -> Iterator[str]:
    for name, side in (("A", a), ("B", b)):
        if not side.evidence:
            yield f"{name}: {side.machine.name} has no evidence ({side.moment}). --phase says when one was taken."
    for sort in COMPARED:
        have = [name for name, side in (("A", a), ("B", b)) if sort in side.evidence]
        if len(have) == 1:
            yield f"Only {have[0]} has {sort} evidence."
        if len(have) == 2:
            yield from _conditions(sort, a.evidence[sort], b.evidence[sort])
    same = [sort for sort in COMPARED if sort in a.evidence and b.evidence.get(sort) == a.evidence[sort]]
    if same:
        yield f"Both sides are the very same line of the book for: {', '.join(same)}."


def _conditions(sort: str, a: Entry, b: Entry) -> Iterator[str]:
    warm_a, warm_b = (_number(entry, "temperature_c") for entry in (a, b))
    if warm_a is not None and warm_b is not None and abs(warm_a - warm_b) > SAME_TEMPERATURE_C:
        yield f"{sort}: A was taken at {warm_a:g} °C, B at {warm_b:g} °C; part of a difference may be the temperature."
    ran_a, ran_b = (_number(entry, "running_minutes") for entry in (a, b))
    if ran_a is not None and ran_b is not None and max(ran_a, ran_b) > SAME_RUN * min(ran_a, ran_b) + 1:
        yield f"{sort}: A had run for {ran_a:g} minutes, B for {ran_b:g}; part of a difference may be the warmth."
    if instrument_of(a) and instrument_of(b) and instrument_of(a) != instrument_of(b):
        names = f"{a.new.body['instrument']}; {b.new.body['instrument']}"
        yield f"{sort}: two instruments ({names}), each with its own doubt."


def _number(entry: Entry, name: str) -> float | None:
    value = entry.new.body.get(name)
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None
