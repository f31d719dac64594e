"""What a tape document (tapewright/tape/1) says: feed and tracks of its longest strip.

Every length holds the doubt of the picture's scale. Where that comes from the scanner (the file's own resolution, or
a steel rule laid on it), two pictures from one scanner share it; a scale taken from each tape's own width or tracks
is each picture's own.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from tapewright.book.side_by_side.figure import Figure, Group, at, count, items, measured, number, share_of
from tapewright.reference.five_unit_tape import GRID_MM, TRACK_STEPS

SCALE = "the scanner's scale"
OF_THE_SCANNER = ("dpi tag", "given")
#: name in the document -> (name for people, whether its doubt holds the scale)
FEED: Mapping[str, tuple[str, bool]] = {
    "pitch_mm": ("feed pitch", True),
    "scatter_mm": ("scatter of the feed", False),
    "diameter_mm": ("feed hole, diameter", True),
    "oval_mm": ("feed hole, oval along the tape", True),
    "advanced_mm": ("feed hole ahead of the code holes", True),
    "out_of_square_mm": ("die block, out of square", False),
}
TRACK: Mapping[str, str] = {
    "diameter_mm": "diameter",
    "along_mm": "place along the tape",
    "across_mm": "place across the tape",
}
#: How the tape lay in its guide; every length of it holds the scale.
GUIDE: Mapping[str, str] = {
    "width_mm": "tape, width",
    "feed_to_three_hole_edge_mm": "feed line to the three-hole edge",
}
TOO_FEW, NO_EDGES = "too few whole holes", "the edges of the tape were not measured"


def tape_figures(document: Mapping[str, Any]) -> Iterator[Figure]:
    """Return the figures of a tape document."""
    strips = items(document, "strips")
    if not strips:
        return
    strip = max(strips, key=lambda s: len(items(s, "rows")))
    scale = _scale(document)
    for name, (what, scaled) in FEED.items():
        yield _length(strip, ("feed", name), what, scale if scaled else 0.0, 0.0)
    for name, what in GUIDE.items():
        yield _length(strip, ("guide", name), what, scale, 0.0, NO_EDGES)
    tracks = items(strip, "tracks")
    middle = _middle(tracks)
    for track in tracks:
        yield from _track(track, scale, middle)
    wrong, sent = count(strip, "errors", "wrong"), count(strip, "errors", "sent")
    if wrong is not None and sent and wrong <= sent:
        yield Figure(Group.TAPE, "characters wrong on the tape", share_of(wrong, sent))


def _scale(document: Mapping[str, Any]) -> float:
    """Return the relative standard uncertainty that one scanner brings to all its pictures; 0 for none known."""
    value, u = number(document, "scale", "px_per_mm", "value"), number(document, "scale", "px_per_mm", "u")
    if at(document, "scale", "from") not in OF_THE_SCANNER or not value or not u:
        return 0.0
    return u / value


def _middle(tracks: list[Mapping[str, Any]]) -> float:
    """Return where the middle of all whole code holes lies along the tape, mm.

    The document gives places along the tape from a middle that each reading estimates for itself, so only the tracks
    against each other can be compared; the middle against the feed holes is a figure of its own.
    """
    readings = [measured(track, "along_mm", unit="mm") for track in tracks]
    holes = sum(r.n or 0 for r in readings if r.value is not None)
    return sum(r.value * (r.n or 0) for r in readings if r.value is not None) / holes if holes else 0.0


def _track(track: Mapping[str, Any], scale: float, middle: float) -> Iterator[Figure]:
    number_ = count(track, "track")
    if number_ is None or not 1 <= number_ <= len(TRACK_STEPS):
        return
    for name, what in TRACK.items():
        far = abs(TRACK_STEPS[number_ - 1]) * GRID_MM * scale if name == "across_mm" else 0.0
        figure = _length(track, (name,), f"track {number_}, {what}", scale, far)
        if name == "along_mm" and figure.reading.value is not None:
            figure = replace(figure, reading=figure.reading.but(value=figure.reading.value - middle))
        yield figure
    punched, partial = count(track, "punched"), count(track, "partial")
    if punched and partial is not None and partial <= punched:
        yield Figure(Group.TAPE, f"track {number_}, partial holes", share_of(partial, punched), nothing=not partial)


def _length(
    where: Mapping[str, Any], path: tuple[str, ...], what: str, scale: float, far_u: float, why: str = TOO_FEW
) -> Figure:
    reading = measured(where, *path, unit="mm", why=why)
    moved = math.hypot((reading.value or 0.0) * scale, far_u)
    return Figure(Group.TAPE, what, reading, shared_u=moved, shared=SCALE if moved else "")
