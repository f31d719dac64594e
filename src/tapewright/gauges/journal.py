"""The journal of a machine, readings and changes in the order they were made, and what its readings come to.

One change at a time; per position one number, one interval, or a yes or no.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tapewright.gauges.gauge import GAUGES, factor_between, leaf_stack_u, mean_of_repeats, same_family
from tapewright.gauges.requirement import Requirement
from tapewright.number import Reading, missing


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the journal: a reading, a change, or an acceptance of what is outside.

    Attributes:
        id: requirement it belongs to.
        value, u: a number and its standard uncertainty (None: the gauge's own) in `unit`.
        unit: unit of value, u, low and high; empty for the requirement's own.
        low, high: interval of a go/no-go pair: last gauge that goes, first that does not; either may be infinite.
        leaves: thicknesses of a leaf stack that just enters, in `unit`.
        eye: yes or no by eye.
        position: which of the requirement's positions; empty for the only one.
        changed: what was moved and how far, for a change; undo: how to put it back.
        accepted: the owner's reason to go on with this requirement as it is.
        warm, powered, locked: the conditions of a reading; None when not stated.
        instrument: which gauge; a key of `GAUGES` gives its doubt.
    """

    id: str
    value: float | None = None
    u: float | None = None
    unit: str = ""
    low: float | None = None
    high: float | None = None
    leaves: tuple[float, ...] = ()
    eye: bool | None = None
    position: str = ""
    changed: str = ""
    undo: str = ""
    accepted: str = ""
    warm: bool | None = None
    powered: bool | None = None
    locked: bool | None = None
    instrument: str = ""

    @property
    def is_reading(self) -> bool:
        """Return whether the line holds a reading."""
        return self.value is not None or self.low is not None or bool(self.leaves) or self.eye is not None


Journal = tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Interval:
    """A go/no-go pair in the requirement's unit: the value lies between the two."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class ByEye:
    """A yes or no."""

    yes: bool


Evidence = Reading | Interval | ByEye


def unusable(requirement: Requirement, entry: Entry) -> str:
    """Say why a reading does not count for a requirement, empty when it does."""
    for name, yes, no in (("warm", "warm", "cold"), ("powered", "under power", "by hand")):
        wanted, had = getattr(requirement, name), getattr(entry, name)
        if wanted is not None and had is not None and wanted != had:
            return f"it was measured {yes if had else no}, the sheet wants it {yes if wanted else no}"
    if requirement.locked and entry.locked is False:
        return "it was measured before locking; locking moves it, so measure again after it"
    return ""


def evidence_at(requirement: Requirement, entries: Sequence[Entry]) -> Evidence | None:
    """Combine the readings of one position; the kind of the latest reading decides which are used."""
    if not entries:
        return None
    last = entries[-1]
    if last.eye is not None:
        return ByEye(last.eye)
    if last.low is not None:
        return _overlap(requirement, [e for e in entries if e.low is not None])
    return _mean(requirement, [e for e in entries if e.value is not None or e.leaves])


def _overlap(requirement: Requirement, entries: Sequence[Entry]) -> Evidence:
    ends = [(_in_unit(requirement, e, e.low), _in_unit(requirement, e, e.high)) for e in entries]
    low, high = max(low for low, _ in ends), min(high for _, high in ends)
    if low > high:
        return missing(requirement.unit, "two go/no-go readings contradict each other; measure again")
    return Interval(low, high)


def _mean(requirement: Requirement, entries: Sequence[Entry]) -> Evidence:
    values, doubts = zip(*(_number(requirement, e) for e in entries), strict=True)
    known = [u for u in doubts if u is not None]
    if len(known) < len(values):
        mean = math.fsum(values) / len(values)
        return Reading(mean, None, requirement.unit, len(values), "neither gauge nor doubt of the reading is stated")
    mean, u = mean_of_repeats(values, max(known))
    return Reading(mean, u, requirement.unit, len(values))


def _number(requirement: Requirement, entry: Entry) -> tuple[float, float | None]:
    factor = factor_between(entry.unit or requirement.unit, requirement.unit)
    if entry.leaves:
        to_mm = factor_between(entry.unit or requirement.unit, "mm")
        u_mm = leaf_stack_u(tuple(leaf * to_mm for leaf in entry.leaves), None if entry.u is None else entry.u * to_mm)
        return math.fsum(entry.leaves) * factor, u_mm * factor_between("mm", requirement.unit)
    assert entry.value is not None  # the caller picked entries with a value or leaves
    value = entry.value * factor
    if entry.u is not None:
        return value, entry.u * factor
    if requirement.gauge_u is not None and not entry.instrument:
        return value, requirement.gauge_u
    gauge = GAUGES.get(entry.instrument or requirement.gauge)
    # a number where the sheet thinks of the eye was read with some gauge that nobody named: its doubt is not known
    known = gauge is not None and same_family(gauge.unit, requirement.unit)
    return value, gauge.u(value, requirement.unit) if gauge is not None and known else None


def _in_unit(requirement: Requirement, entry: Entry, end: float | None) -> float:
    assert end is not None  # an interval has both ends, infinite or not
    return end * factor_between(entry.unit or requirement.unit, requirement.unit)
