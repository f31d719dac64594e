"""What a checked sheet (tapewright/sheet/1) says: one figure for each reading of each requirement.

What a coil document (tapewright/coil/1) says.
"""

import math
from collections.abc import Iterator, Mapping
from statistics import mean
from typing import Any

from tapewright.book.side_by_side.figure import NOT_THERE, Basis, Figure, Group, at, items, measured, number
from tapewright.number import missing

NOT_MEASURED = "it is not measured"


def gauge_figures(document: Mapping[str, Any]) -> Iterator[Figure]:
    """Return the figures of a checked sheet; requirements are known by their id, so both sides need the same sheet."""
    for requirement in items(document, "requirements"):
        name, unit = requirement.get("id"), at(requirement, "verdict", "unit")
        if isinstance(name, str):
            yield from _requirement(name, unit if isinstance(unit, str) else "", requirement)


def _requirement(name: str, unit: str, requirement: Mapping[str, Any]) -> Iterator[Figure]:
    readings = items(requirement, "readings")
    if not readings:
        yield Figure(Group.GAUGES, name, missing(unit, NOT_MEASURED))
    for reading in readings:
        position = reading.get("position")
        what = f"{name}, {position}" if isinstance(position, str) and position else name
        yield _figure(what, unit, reading)


def _figure(what: str, unit: str, reading: Mapping[str, Any]) -> Figure:
    yes, ends = reading.get("by_eye"), reading.get("interval")
    if isinstance(yes, bool):
        return Figure(Group.GAUGES, what, missing("yes", NOT_MEASURED), yes=yes)
    if isinstance(ends, list) and len(ends) == 2:
        low, high = number(reading, "interval", 0), number(reading, "interval", 1)
        interval = (-math.inf if low is None else low, math.inf if high is None else high)
        if interval[0] <= interval[1] and interval != (-math.inf, math.inf):
            return Figure(Group.GAUGES, what, missing(unit, NOT_MEASURED), interval=interval)
    return Figure(Group.GAUGES, what, measured(reading, "number", unit=unit, why=NOT_MEASURED))


#: Landing and release depend on the current; two feeds nearer than this count as one (ours).
SAME_CURRENT = 0.05
STILL = "the armature does not move"
#: name in the document -> (name for people, unit, whether it depends on the current)
COIL: Mapping[str, tuple[str, str, bool]] = {
    "resistance_ohm": ("coil resistance", "ohm", False),
    "inductance_h": ("inductance, armature out", "H", False),
    "inductance_landed_h": ("inductance, armature on the pole", "H", False),
    "landing_ms": ("landing of the armature", "ms", True),
    "scatter_ms": ("scatter of the landing", "ms", True),
    "release_ms": ("release of the armature", "ms", True),
}


def coil_figures(document: Mapping[str, Any]) -> Iterator[Figure]:
    """Return the figures of a coil document."""
    levels = [level for c in items(document, "closures") if (level := number(c, "level_a", "value"))]
    fed = Basis("fed", mean(levels), "A", SAME_CURRENT) if levels else None
    note = at(document, "notes", 0)
    why = note if isinstance(note, str) else STILL if at(document, "moved") is False else NOT_THERE
    for name, (what, unit, depends) in COIL.items():
        yield Figure(Group.COIL, what, measured(document, name, unit=unit, why=why), basis=fed if depends else None)
    moved = at(document, "moved")
    answer = moved if isinstance(moved, bool) else None
    yield Figure(Group.COIL, "armature moves", missing("yes", "it cannot be told"), yes=answer, basis=fed)
