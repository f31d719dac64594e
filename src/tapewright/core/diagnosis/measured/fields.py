"""Look figures up in a result document. What is not there, null or of another shape is None: not examined."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure with its standard uncertainty (None when not stated) and unit."""

    value: float
    u: float | None
    unit: str

    def __str__(self) -> str:
        """Write value and expanded uncertainty."""
        if not self.u:
            return f"{self.value:.3g} {self.unit}".strip()
        return f"{self.value:.3g} ± {2 * self.u:.2g} {self.unit}".strip()


def at(document: Any, path: str) -> Any:
    """Give what stands at a dotted path; numbers in the path count list entries; None when nothing stands there."""
    here = document
    for step in path.split("."):
        if isinstance(here, Mapping):
            here = here.get(step)
        elif isinstance(here, list) and step.isdecimal() and int(step) < len(here):
            here = here[int(step)]
        else:
            return None
    return here


def figure(document: Any, path: str) -> Figure | None:
    """Give the figure at a path: {"value", "u", "unit"} or a bare number."""
    return figure_of(at(document, path))


def figure_of(found: Any) -> Figure | None:
    """Give {"value", "u", "unit"} or a bare number as a figure, None when it is neither."""
    if isinstance(found, Mapping):
        value, u, unit = number(found.get("value")), number(found.get("u")), found.get("unit")
        return None if value is None else Figure(value, u, unit if isinstance(unit, str) else "")
    value = number(found)
    return None if value is None else Figure(value, None, "")


def number(found: Any) -> float | None:
    """Give a finite number, None for anything else."""
    if isinstance(found, bool) or not isinstance(found, int | float):
        return None
    try:
        value = float(found)
    except OverflowError:
        return None
    return value if math.isfinite(value) else None


def tables(document: Any, path: str) -> list[Mapping[str, Any]]:
    """Give the list of tables at a path, empty when there is none."""
    found = at(document, path)
    return [each for each in found if isinstance(each, Mapping)] if isinstance(found, list) else []
