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


def pitch_line(strip: Mapping[str, Any], px_per_mm: float) -> dict[str, Any] | None:
    """Give how far each feed hole lies from the even grid, mm and places; None for too few rows."""
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
    places = [round(HEIGHT / 2 * (1 - value / reach), 2) for value in off.tolist()]
    points = " ".join(f"{(n + 0.5) * STEP:g},{y:g}" for n, y in enumerate(places))
    odd = [{"row": n, "x": (n + 0.5) * STEP, "y": places[n], "says": says}
           for says, listed in (("short", strip["feed"]["short_rows"]), ("long", strip["feed"]["long_rows"]))
           for n in listed if 0 <= n < len(places)]  # fmt: skip
    return {"reach_mm": reach, "points": points, "odd": odd, "off_mm": [round(v, 4) for v in off.tolist()]}


def worst_holes(strip: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Give for each track its holes, the least open first, then those farthest from their place."""
    out = []
    for track in strip["tracks"]:
        holes = [(_badness(h), row, h) for row in strip["rows"] for h in row["holes"]
                 if h["track"] == track["track"] and h["state"] != "absent"]  # fmt: skip
        holes.sort(key=lambda each: each[0])
        shown = [{"row": row["row"], "code": row["code"], **hole} for _, row, hole in holes[:MOST_HOLES]]
        out.append({"track": track["track"], "holes": shown, "more": max(0, len(holes) - MOST_HOLES)})
    return out


def pieces(rows: int) -> list[dict[str, int]]:
    """Give the pieces in which the straightened copy is fetched."""
    return [{"first": first, "rows": min(PIECE_ROWS, rows - first)} for first in range(0, rows, PIECE_ROWS)]


def _badness(hole: Mapping[str, Any]) -> tuple[int, float]:
    if hole["state"] == "partial":
        return 0, float(hole["open_fraction"])
    return 1, -float(np.hypot(hole["along_mm"] or 0.0, hole["across_mm"] or 0.0))


def letters(names: Sequence[str]) -> list[dict[str, Any]]:
    """Give the letter under each row with its place."""
    return [{"x": (n + 0.5) * STEP, "name": name} for n, name in enumerate(names)]
