"""The journal of a machine: readings and changes in the order they were made. One change at a time."""

from dataclasses import dataclass


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
