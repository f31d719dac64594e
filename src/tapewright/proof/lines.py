"""Lines of the book as the proof reads them: evidence with its phase and conditions.

What a line of evidence says (body), as far as the proof asks:

    sort, phase, result     what it is of, when in the restoration, the result document of that sort
    running_minutes         how long the machine had been running      temperature_c   of the room
    supply_percent          supply against its nominal value: 0 is nominal, -10 is ten per cent low
    keyed                   "hand" where a hand set the pace
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tapewright.book.entry import Entry
from tapewright.book.kinds import NOT_THE_MACHINE, SORTS
from tapewright.furniture.phases import PHASES
from tapewright.proof.plain import mapping, number, words

AS_FOUND, BETWEEN, AS_LEFT = PHASES
#: Running longer than this a machine counts as warm, shorter than the other as cold (common practice, no source).
WARM_AFTER_MINUTES, COLD_UP_TO_MINUTES = 30.0, 5.0


@dataclass(frozen=True, slots=True)
class Conditions:
    """How the machine stood while it was measured; None or empty where it is not on record.

    Attributes:
        running_minutes: how long it had been running.
        temperature_c: of the room.
        supply_percent: supply voltage against its nominal, per cent above (+) or below (-).
        keyed: "hand" where a hand set the pace.
    """

    running_minutes: float | None = None
    temperature_c: float | None = None
    supply_percent: float | None = None
    keyed: str = ""

    @property
    def is_warm(self) -> bool | None:
        """Return whether it was warm; None between the two, and where nothing is on record."""
        if self.running_minutes is None or COLD_UP_TO_MINUTES < self.running_minutes < WARM_AFTER_MINUTES:
            return None
        return self.running_minutes >= WARM_AFTER_MINUTES


@dataclass(frozen=True, slots=True)
class Evidence:
    """One line of evidence.

    Attributes:
        entry: the line of the book.
        sort: what it is of; phase: when in the restoration.
        result: its result document, empty when it cannot be read; what it was judged again to since, if it was.
        conditions: how the machine stood.
        line: number of the line of the book that the result stands in.
    """

    entry: Entry
    sort: str
    phase: str
    result: Mapping[str, Any]
    conditions: Conditions
    line: int

    @property
    def body(self) -> Mapping[str, Any]:
        """All that the line says."""
        return self.entry.new.body

    @property
    def readable(self) -> bool:
        """Return whether the result is the document that its sort carries."""
        return self.result.get("format") == SORTS.get(self.sort)

    @property
    def raw(self) -> tuple[str, ...]:
        """Fingerprints of the raw files it rests on."""
        return self.entry.new.files


def of_kind(lines: Sequence[Entry], *kinds: str) -> tuple[Entry, ...]:
    """Return the lines of these kinds, in their order."""
    return tuple(line for line in lines if line.new.kind in kinds)


def evidence_of(lines: Sequence[Entry]) -> tuple[Evidence, ...]:
    """Return all evidence on the machine in its order, each with the result it was last judged to.

    What was only sent, reckoned or borrowed stays out: it covers no test and judges nothing.
    """
    again = {key: line for line in of_kind(lines, "verdicts") for key in line.new.rests_on}
    found = [_evidence(line, again.get(line.key)) for line in of_kind(lines, "evidence")]
    return tuple(one for one in found if one.sort not in NOT_THE_MACHINE)


def _evidence(line: Entry, again: Entry | None) -> Evidence:
    body = line.new.body
    phase = words(body.get("phase"))
    sort, result = words(body.get("sort")), mapping(body.get("result"))
    number_, newer = line.number, mapping(again.new.body.get("result")) if again else {}
    if again and newer.get("format") == SORTS.get(sort):
        result, number_ = newer, again.number
    return Evidence(line, sort, phase if phase in PHASES else "", result, conditions_of(body), number_)


def conditions_of(body: Mapping[str, Any]) -> Conditions:
    """Return the conditions that a body states."""
    minutes, celsius, supply = (number(body.get(k)) for k in ("running_minutes", "temperature_c", "supply_percent"))
    return Conditions(minutes, celsius, supply, words(body.get("keyed")))
