"""What a checked sheet (tapewright/sheet/1) says: one figure for each reading of each requirement."""

import math
from collections.abc import Iterator, Mapping
from typing import Any

from tapewright.core.book.side_by_side.fields import at, items, measured, number
from tapewright.core.book.side_by_side.figure import Figure, Group
from tapewright.core.measurement import missing

NOT_MEASURED = "it is not measured"


def gauge_figures(document: Mapping[str, Any]) -> Iterator[Figure]:
    """Give the figures of a checked sheet; requirements are known by their id, so both sides need the same sheet."""
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
