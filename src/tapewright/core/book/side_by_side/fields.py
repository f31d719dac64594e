"""Readings out of a document that may hold anything: what does not fit is not there."""

import math
from collections.abc import Mapping
from typing import Any

from tapewright.core.measurement import Reading, missing

NOT_THERE = "its document does not say"


def at(document: object, *path: str | int) -> Any:
    """Give what lies at a path of keys and places, None when the path leads nowhere."""
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
    """Give the objects of the list at a path; nothing when there is no list."""
    found = at(document, *path)
    return [item for item in found if isinstance(item, Mapping)] if isinstance(found, list) else []


def number(document: object, *path: str | int) -> float | None:
    """Give the finite number at a path."""
    found = at(document, *path)
    if isinstance(found, bool) or not isinstance(found, int | float) or not math.isfinite(found):
        return None
    return float(found)


def count(document: object, *path: str | int) -> int | None:
    """Give the whole number, not negative, at a path."""
    found = at(document, *path)
    return found if isinstance(found, int) and not isinstance(found, bool) and found >= 0 else None


def measured(document: object, *path: str | int, unit: str, why: str = NOT_THERE) -> Reading:
    """Give the measured number {"value", "u", "unit", "n"} at a path; without value, and `why`, when it is not one."""
    found = at(document, *path)
    value, u = number(found, "value"), number(found, "u")
    if value is None or (u is not None and u < 0):
        return missing(unit, why)
    own = at(found, "unit")
    return Reading(value, u, own if isinstance(own, str) else unit, count(found, "n"))
