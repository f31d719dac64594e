r"""Where things stand along a strip: the pitch as a fine line, the holes of each track, worst first.

Picture (one row is STEP wide, as in the straightened copy above it):

    + 0.1 mm  .........................   a feed hole ahead of the even grid
    0         --\____/-\  /--\______/--
    - 0.1 mm  ..........\/.............   behind it
"""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

STEP, HEIGHT = 26, 90
LEAST_REACH_MM, MOST_HOLES, PIECE_ROWS = 0.1, 14, 60


def pitch_line(strip: Mapping[str, Any], px_per_mm: float) -> dict[str, object] | None:
    """Return how far each feed hole lies from the even grid, mm, and its height on the page; None for too few rows."""
    rows = strip["rows"]
    if len(rows) < 3:
        return None
    feed = np.array([complex(row["x_px"], row["y_px"]) for row in rows])
    steps = np.abs(np.diff(feed)) / px_per_mm
    along = np.concatenate(([0.0], np.cumsum(steps)))
    number = np.arange(along.size)
    # the picture may be slanted: what changes no faster than a parabola is the camera's
    off = along - np.polynomial.Polynomial.fit(number, along, 2 if along.size > 20 else 1)(number)
    reach = max(LEAST_REACH_MM, 1.2 * float(np.abs(off).max()))
    return {
        "reach_mm": reach,
        "off_mm": [round(value, 4) for value in off.tolist()],
        "heights": [round(HEIGHT / 2 * (1 - value / reach), 2) for value in off.tolist()],
    }


def worst_holes(strip: Mapping[str, Any]) -> list[dict[str, object]]:
    """Return for each track its holes, the least open first, then those farthest from their place."""
    out = []
    for track in strip["tracks"]:
        holes = [
            (_badness(h), row, h)
            for row in strip["rows"]
            for h in row["holes"]
            if h["track"] == track["track"] and h["state"] != "absent"
        ]
        holes.sort(key=lambda each: each[0])
        shown = [{"row": row["row"], "code": row["code"], **hole} for _, row, hole in holes[:MOST_HOLES]]
        out.append({"track": track["track"], "holes": shown, "more": max(0, len(holes) - MOST_HOLES)})
    return out


def pieces(strip: Mapping[str, Any], names: Sequence[str], pitch: Mapping[str, Any] | None) -> list[dict[str, object]]:
    """Return the pieces in which the straightened copy is shown, each with what stands below it.

    A piece is one line of print, and what the page fetches at a time. Its `letters` and `odd` steps have their place
    from its own begin; its `points` are the pitch line, drawn on to the neighbours so that it does not break.
    """
    out = []
    for first in range(0, len(names), PIECE_ROWS):
        last = min(first + PIECE_ROWS, len(names))
        letters = [{"x": _middle(n - first), "row": n, "name": names[n]} for n in range(first, last)]
        piece: dict[str, object] = {"first": first, "rows": last - first, "letters": letters, "points": "", "odd": []}
        if pitch is not None:
            heights = pitch["heights"]
            line = range(max(0, first - 1), min(len(heights), last + 1))
            piece["points"] = " ".join(f"{_middle(n - first):g},{heights[n]:g}" for n in line)
            odd = {n: says for says in ("short", "long") for n in strip["feed"][f"{says}_rows"] if first <= n < last}
            piece["odd"] = [{"row": n, "x": _middle(n - first), "y": heights[n], "says": odd[n]} for n in sorted(odd)]
        out.append(piece)
    return out


def _middle(rows: int) -> float:
    return (rows + 0.5) * STEP


def _badness(hole: Mapping[str, Any]) -> tuple[int, float]:
    if hole["state"] in ("partial", "doubtful"):
        return 0, float(hole["open_fraction"])
    return 1, -float(np.hypot(hole["along_mm"] or 0.0, hole["across_mm"] or 0.0))
