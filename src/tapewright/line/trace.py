"""The trace of a few characters: the signal as an ink line, elements as bands, a flag where an instant is off.

Picture:

      R             the character
     1 2 3 4 5      its elements
    __   __   __    mark
      |_|  |_|  |_  space; a flag is as long as the instant is late or early, with the milliseconds
"""

from dataclasses import dataclass

import numpy as np

from tapewright.furniture.pages.printable import printable
from tapewright.furniture.plot import GROUND, OUTSIDE, QUIET, Axes, Drawing
from tapewright.line.document import LineResult, LineTrace
from tapewright.line.frames import Frames

MOST_EDGES = 4000
#: Lateness below this share of a unit gets no flag: it could not be seen.
FLAG_UNITS = 0.03


@dataclass(frozen=True, slots=True)
class Room:
    """Where on the drawing the trace goes, mm."""

    left: float
    top: float
    width: float
    height: float


def draw_trace(drawing: Drawing, result: LineResult, trace: LineTrace, characters: tuple[int, int], room: Room) -> None:
    """Draw the trace of the characters from the first to the last, both included."""
    (first, last), frames = characters, trace.frames
    unit = (result.speed.unit_ms.value or 0.0) / 1e3
    begin = float(frames.start_s[first]) - 1.2 * unit
    end = float(frames.start_s[last]) + 8.0 * unit
    axes = Axes(drawing, room.left, room.top, room.width, room.height, (begin * 1e3, end * 1e3), (-0.25, 1.25))
    for i in range(first, last + 1):
        _bands(drawing, axes, frames, i, unit, printable(result.characters[i].letter_or_figure, may_break=False))
    edges = trace.edges
    inside = (edges.times_s >= begin) & (edges.times_s <= end)
    before = np.flatnonzero(edges.times_s < begin)
    idle = bool(edges.level_after[before[-1]] == trace.mark_is_high) if before.size else True
    points = _steps(edges.times_s[inside], edges.level_after[inside] == trace.mark_is_high, (begin, end), idle)
    axes.curve(points[:MOST_EDGES], width=0.4)
    drawing.text(room.left - 2, axes.y(1) + 1, "mark", size_mm=2.8, fill=QUIET, text_anchor="end")
    drawing.text(room.left - 2, axes.y(0) + 1, "space", size_mm=2.8, fill=QUIET, text_anchor="end")
    _flags(axes, trace, first, last, unit)
    axes.x_axis("time, ms")


def telling_character(result: LineResult, trace: LineTrace, shown: int) -> int:
    """Choose where to begin: a little before the first character that shows the contact most out.

    Args:
        result: what was measured.
        trace: the stages behind it.
        shown: how many characters there is room for.
    """
    late = [c for c in result.contacts if c.probability_off > 0.5 and c.contact.isdigit()]
    if not late:
        return 0
    k = int(max(late, key=lambda c: abs(c.closing_late_ms.value or 0.0)).contact)
    shows = trace.instants.frame[(trace.instants.boundary == k) & trace.instants.to_mark]
    return max(0, min(int(shows[0]) - 1, trace.frames.start_s.size - shown)) if shows.size else 0


def _bands(drawing: Drawing, axes: Axes, frames: Frames, i: int, unit: float, shown: str) -> None:
    elements = frames.elements.shape[1]
    start = float(frames.start_s[i])
    for k in range(1, elements + 1):
        left, right = (axes.x(1e3 * (start + edge * unit)) for edge in (k, k + 1))
        if k % 2:
            drawing.rect(left, axes.top, right - left, axes.height, fill=GROUND)
        drawing.text((left + right) / 2, axes.top - 1.2, str(k), size_mm=2.6, fill=QUIET, text_anchor="middle")
    middle = axes.x(1e3 * (start + (elements / 2 + 1) * unit))
    drawing.text(middle, axes.top - 5.2, shown, size_mm=4.2, font_weight="600", text_anchor="middle")


def _steps(
    times: np.ndarray[tuple[int], np.dtype[np.float64]],
    marks: np.ndarray[tuple[int], np.dtype[np.bool_]],
    between: tuple[float, float],
    before: bool,
) -> list[tuple[float, float]]:
    """Return the corners of the signal, ms and 0 or 1; `before` is whether it stands at mark where it begins."""
    begin, end = between
    level = float(before)
    points = [(1e3 * begin, level)]
    for time, mark in zip(times.tolist(), marks.tolist(), strict=True):
        points += [(1e3 * time, level), (1e3 * time, float(mark))]
        level = float(mark)
    return [*points, (1e3 * end, level)]


def _flags(axes: Axes, trace: LineTrace, first: int, last: int, unit: float) -> None:
    instants = trace.instants
    d = instants.deviation_units(unit)
    for i in np.flatnonzero((instants.frame >= first) & (instants.frame <= last) & (np.abs(d) > FLAG_UNITS)):
        start = float(trace.frames.start_s[instants.frame[i]])
        there = axes.x(1e3 * (start + instants.elapsed_s[i]))
        ideal = axes.x(1e3 * (start + instants.boundary[i] * unit))
        y = axes.y(1.12 if instants.to_mark[i] else -0.12)
        axes.drawing.line(ideal, y, there, y, stroke=OUTSIDE, stroke_width=0.9)
        axes.drawing.line(ideal, y - 1.2, ideal, y + 1.2, stroke=OUTSIDE, stroke_width=0.25)
        label = f"{1e3 * d[i] * unit:+z.2f} ms"
        axes.drawing.text(there + 1.5, y + (0.9 if instants.to_mark[i] else 2.2), label, size_mm=2.4, fill=OUTSIDE)
