"""What a coil document (tapewright/coil/1) says."""

from collections.abc import Iterator, Mapping
from statistics import mean
from typing import Any

from tapewright.core.book.side_by_side.fields import NOT_THERE, at, items, measured, number
from tapewright.core.book.side_by_side.figure import Basis, Figure, Group
from tapewright.core.measurement import missing

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
    """Give the figures of a coil document."""
    levels = [level for c in items(document, "closures") if (level := number(c, "level_a", "value"))]
    fed = Basis("fed", mean(levels), "A", SAME_CURRENT) if levels else None
    note = at(document, "notes", 0)
    why = note if isinstance(note, str) else STILL if at(document, "moved") is False else NOT_THERE
    for name, (what, unit, depends) in COIL.items():
        yield Figure(Group.COIL, what, measured(document, name, unit=unit, why=why), basis=fed if depends else None)
    moved = at(document, "moved")
    answer = moved if isinstance(moved, bool) else None
    yield Figure(Group.COIL, "armature moves", missing("yes", "it cannot be told"), yes=answer, basis=fed)
