"""One thing that a document says of a machine, ready to be laid beside the same thing of another.

Readings out of a document that may hold anything: what does not fit is not there.

Whether two pieces of evidence were taken with one instrument: then part of their doubt moves both together.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Any

from tapewright.book.entry import Entry
from tapewright.number import Reading, missing


class Group(Enum):
    """Where a figure belongs, in the order reports show them."""

    SPEED = "speed"
    CONTACTS = "contacts"
    TAPE = "tape"
    COIL = "coil"
    GAUGES = "gauges"


@dataclass(frozen=True, slots=True)
class Basis:
    """What must be alike on both sides before a figure may be compared.

    Attributes:
        words: for example "made for".
        value: for example 45.45, in `unit`.
        unit: for example "Bd".
        within: relative difference up to which two count as alike.
    """

    words: str
    value: float
    unit: str
    within: float

    def alike(self, other: "Basis") -> bool:
        """Return whether the two may stand for the same."""
        return abs(self.value - other.value) <= self.within * max(abs(self.value), abs(other.value))

    def __str__(self) -> str:
        """Write it as a reason names it."""
        return f"{self.words} {self.value:.4g} {self.unit}"


@dataclass(frozen=True, slots=True)
class Figure:
    """One thing said: a number, an interval (go and no-go), or yes or no.

    Attributes:
        group: where it belongs.
        what: its name, the same on both sides; it reads on after "the", for example "closing of contact 3, late".
        reading: the number; without value where there is an interval, yes or no, or nothing.
        interval: (low, high) in the reading's unit, either end infinite; None for a number.
        yes: an answer by eye; None for a number.
        shared_u: how much one standard uncertainty of the instrument moves the number, signed, in its unit. It is
            contained in `reading.u`, and it moves both sides together when both were taken with one instrument.
        shared: what that is of the instrument, for example "the recorder's clock".
        basis: what must be alike on both sides; None for nothing.
        alone: why it cannot be compared at all; empty when it can.
        nothing: whether it says only that nothing happened; two such are not worth a row.
    """

    group: Group
    what: str
    reading: Reading
    interval: tuple[float, float] | None = None
    yes: bool | None = None
    shared_u: float = 0.0
    shared: str = ""
    basis: Basis | None = None
    alone: str = ""
    nothing: bool = False

    @property
    def empty(self) -> bool:
        """Whether nothing was found."""
        return self.reading.value is None and self.interval is None and self.yes is None


def share_of(count: int, of: int) -> Reading:
    """Return a share in per cent with a doubt that holds for small counts too.

    One hit and one miss are added before share and variance are taken, so that the difference of two such shares
    with its 2u covers close to what it should (A. Agresti, B. Caffo, Simple and effective confidence intervals for
    proportions and differences of proportions, The American Statistician 54, 2000, 280-288; from memory).
    """
    p = (count + 1) / (of + 2)
    return Reading(100 * p, 100 * math.sqrt(p * (1 - p) / (of + 2)), "percent", of, f"{count} of {of}")


NOT_THERE = "its document does not say"


def at(document: object, *path: str | int) -> Any:
    """Return what lies at a path of keys and places, None when the path leads nowhere."""
    here: Any = document
    for step in path:
        if isinstance(step, str) and isinstance(here, Mapping):
            here = here.get(step)
        elif isinstance(step, int) and isinstance(here, list) and -len(here) <= step < len(here):
            here = here[step]
        else:
            return None
    return here


def items(document: object, *path: str | int) -> list[Mapping[str, Any]]:
    """Return the objects of the list at a path; nothing when there is no list."""
    found = at(document, *path)
    return [item for item in found if isinstance(item, Mapping)] if isinstance(found, list) else []


def number(document: object, *path: str | int) -> float | None:
    """Return the finite number at a path."""
    found = at(document, *path)
    if isinstance(found, bool) or not isinstance(found, int | float) or not math.isfinite(found):
        return None
    return float(found)


def count(document: object, *path: str | int) -> int | None:
    """Return the whole number, not negative, at a path."""
    found = at(document, *path)
    return found if isinstance(found, int) and not isinstance(found, bool) and found >= 0 else None


def measured(document: object, *path: str | int, unit: str, why: str = NOT_THERE) -> Reading:
    """Return measured number {"value", "u", "unit", "n"} at a path; without value, and `why`, when it is not one."""
    found = at(document, *path)
    value, u = number(found, "value"), number(found, "u")
    if value is None or (u is not None and u < 0):
        return missing(unit, why)
    own = at(found, "unit")
    return Reading(value, u, own if isinstance(own, str) else unit, count(found, "n"))


def one_instrument(a: Entry, b: Entry) -> bool:
    """Return whether both name the same instrument; nothing named is not the same."""
    one, other = instrument_of(a), instrument_of(b)
    return bool(one) and one == other


def instrument_of(entry: Entry) -> str:
    """Return the instrument a line names, in small letters and single blanks; empty for none."""
    name = entry.new.body.get("instrument")
    return " ".join(name.split()).casefold() if isinstance(name, str) else ""
