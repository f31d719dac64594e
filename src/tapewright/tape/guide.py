"""How the tape ran in its guide: width of the paper, and the feed line's distance from the three-hole edge.

    two-hole edge   ------------------------
    feed line       .   .   .   .   .   .        ^
                                                 |  9.96 mm nominal - edge = how far the tape runs off,
    three-hole edge ------------------------     v  + with all holes shifted towards track 5

The sizes are remembered, with low confidence (reference/five_unit_tape.py); a sheet of the owner's own limits
replaces them. Where the scale comes from the tape's own width, that width says nothing.
"""

import numpy as np

from tapewright.number import Reading, missing
from tapewright.reference.five_unit_tape import FEED_TO_THREE_HOLE_EDGE_MM
from tapewright.tape.document import Guide
from tapewright.tape.edges import TapeEdges
from tapewright.tape.geometry import SLANTED, Millimetres
from tapewright.tape.scale import Scale

NO_EDGES = "the edges of the tape do not stand out: lay it on a ground of another shade, with both edges in the picture"


def measure_guide(edges: TapeEdges | None, mm: Millimetres, scale: Scale) -> Guide:
    """Measure width and guide offset of one strip; `edges` is None when the picture is not flat."""
    if edges is None:
        none = missing("mm", SLANTED)
        return Guide(none, none, none)
    width = missing("mm", NO_EDGES)
    if edges.width_px is not None:
        if scale.source == "tape width":
            width = missing("mm", "the scale was taken from the tape's width; give --dpi to measure it")
        else:
            width = _in_mm(edges.width_px, 1 / scale.value, scale)
    if edges.feed_to_edge_steps is None:
        none = missing("mm", NO_EDGES)
        return Guide(width, none, none)
    edge = _in_mm(edges.feed_to_edge_steps, float(np.median(mm.track_mm)), scale)
    off = Reading(FEED_TO_THREE_HOLE_EDGE_MM - (edge.value or 0.0), edge.u, "mm", edge.n, "9.96 mm less the edge")
    return Guide(width, edge, off)


def _in_mm(reading: Reading, mm_each: float, scale: Scale) -> Reading:
    value, u = (reading.value or 0.0) * mm_each, (reading.u or 0.0) * mm_each
    return Reading(value, float(np.hypot(u, value * scale.relative_u)), "mm", reading.n, reading.how)
