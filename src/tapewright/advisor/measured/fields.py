r"""Look figures up in a result document. What is not there, null or of another shape is None: not examined.

How strongly a measured value with its doubt speaks for a finding.

Picture:

    value +- u, counts as found beyond a mark:

        absent      ?      present             P(beyond) = Phi((value - mark) / u)
    -------------[--|--]------------->
                   mark                        likelihoods: P(beyond) if present, 1 - P(beyond) if absent

A value far from the mark on either side is as good as seen or not seen; one that straddles it says little.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypeAlias

from tapewright.advisor.evidence import Answer

#: A result document as its JSON has it: of any version, and by other people's programs.
Document: TypeAlias = Mapping[str, object]
#: finding, document -> its answer; None when the document cannot speak about it
Rule: TypeAlias = Callable[[str, Document], Answer | None]


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


def at(document: object, path: str) -> object:
    """Return what stands at a dotted path; numbers in the path count list entries; None when nothing stands there."""
    here = document
    for step in path.split("."):
        if isinstance(here, Mapping):
            here = here.get(step)
        elif isinstance(here, list) and step.isdecimal() and int(step) < len(here):
            here = here[int(step)]
        else:
            return None
    return here


def figure(document: object, path: str) -> Figure | None:
    """Return the figure at a path: {"value", "u", "unit"} or a bare number."""
    return figure_of(at(document, path))


def figure_of(found: object) -> Figure | None:
    """Return {"value", "u", "unit"} or a bare number as a figure, None when it is neither."""
    if isinstance(found, Mapping):
        value, u, unit = number(found.get("value")), number(found.get("u")), found.get("unit")
        return None if value is None else Figure(value, u, unit if isinstance(unit, str) else "")
    value = number(found)
    return None if value is None else Figure(value, None, "")


def number(found: object) -> float | None:
    """Return a finite number, None for anything else."""
    if isinstance(found, bool) or not isinstance(found, int | float):
        return None
    try:
        value = float(found)
    except OverflowError:
        return None
    return value if math.isfinite(value) else None


def tables(document: object, path: str) -> list[Document]:
    """Return the list of tables at a path, empty when there is none."""
    found = at(document, path)
    return [each for each in found if isinstance(each, Mapping)] if isinstance(found, list) else []


#: Beyond this it counts as surely present or absent (2.6 standard uncertainties).
SURE = 0.995
#: Uncertainty taken for a figure that states none: this share of the mark (common practice, no source).
UNSTATED_SHARE = 0.25


def beyond(finding: str, figure: Figure, mark: float, how: str, *, above: bool, at: str = "") -> Answer:
    """Return the answer for "the figure is above (or below) the mark"."""
    u = figure.u if figure.u is not None else UNSTATED_SHARE * abs(mark)
    distance = figure.value - mark if above else mark - figure.value
    return weighed(finding, phi(distance / u) if u > 0 else float(distance > 0), how, at=at)


def weighed(finding: str, chance: float, how: str, *, at: str = "") -> Answer:
    """Return the answer for a finding that is there with this chance, as far as the measurement alone goes."""
    if chance >= SURE:
        return Answer(finding, 1.0, 0.0, how, at)
    if chance <= 1.0 - SURE:
        return Answer(finding, 0.0, 1.0, how)
    return Answer(finding, chance, 1.0 - chance, how, at)


def phi(z: float) -> float:
    """Return the share of a normal distribution below z standard deviations."""
    return 0.5 * (1.0 + math.erf(z / math.sqrt(2.0)))
