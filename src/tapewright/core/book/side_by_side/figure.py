"""One thing that a document says of a machine, ready to be laid beside the same thing of another."""

import math
from dataclasses import dataclass
from enum import Enum

from tapewright.core.measurement import Reading


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
        """Say whether the two may stand for the same."""
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
    """Give a share in per cent with a doubt that holds for small counts too.

    One hit and one miss are added before share and variance are taken, so that the difference of two such shares
    with its 2u covers close to what it should (A. Agresti, B. Caffo, Simple and effective confidence intervals for
    proportions and differences of proportions, The American Statistician 54, 2000, 280-288; from memory).
    """
    p = (count + 1) / (of + 2)
    return Reading(100 * p, 100 * math.sqrt(p * (1 - p) / (of + 2)), "percent", of, f"{count} of {of}")
