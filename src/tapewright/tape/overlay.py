"""The picture again with every position marked: shape and label say the state, colour only repeats it.

clean     a whole ring                     feed hole   a small square
partial   a ring broken in two + "62 %"    absent      a small plus
doubtful  a question mark
"""

from pathlib import Path

import cv2
import numpy as np

from tapewright.errors import WrongUseError
from tapewright.furniture.whole_file import write_whole
from tapewright.pictures.picture import Picture
from tapewright.tape.document import Hole, HoleState, Row, Strip, Tape

#: blue, green, red
CLEAN, PARTIAL, ABSENT, INK = (94, 130, 31), (15, 41, 200), (140, 130, 120), (180, 90, 20)
ROWS_A_NUMBER = 10
#: Smaller pictures are enlarged, so that the labels can be read: a grid step is at least this many pixels.
LEAST_STEP_PX = 28.0


def write_overlay(picture: Picture, reading: Tape, path: Path) -> None:
    """Write the marked picture as PNG.

    Raises:
        WrongUseError: when the name does not end in .png.
    """
    if path.suffix.lower() != ".png":
        raise WrongUseError(f"--overlay {path}: expected a name that ends in .png.")
    done, data = cv2.imencode(".png", marked(picture, reading))
    if not done:
        raise WrongUseError(f"--overlay {path}: this picture could not be written as PNG.")
    write_whole(path, data.tobytes())


def marked(picture: Picture, reading: Tape) -> np.ndarray:
    """Return the marked picture, shape (height, width, 3), blue-green-red."""
    step = 2.54 * reading.px_per_mm
    zoom = float(np.ceil(LEAST_STEP_PX / step)) if step < LEAST_STEP_PX else 1.0
    pixels = picture.pixels if picture.pixels.ndim == 3 else cv2.cvtColor(picture.pixels, cv2.COLOR_GRAY2BGR)
    # paled, so that the marks stand out
    canvas = cv2.addWeighted(pixels, 0.6, np.full_like(pixels, 255), 0.4, 0)
    if zoom != 1:
        canvas = cv2.resize(canvas, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_CUBIC)
    for number, strip in enumerate(reading.strips, start=1):
        _mark_strip(canvas, strip, number, step * zoom, zoom)
    return np.asarray(canvas)


def _mark_strip(canvas: np.ndarray, strip: Strip, number: int, step: float, zoom: float) -> None:
    thick = max(1, round(step / 22))
    for row in strip.rows:
        _square(canvas, _at(row.x_px, row.y_px, zoom), round(0.3 * step), thick)
        for hole in row.holes:
            _mark_hole(canvas, hole, step, zoom, thick)
        if row.row % ROWS_A_NUMBER == 0:
            _number(canvas, row, step, zoom, f"{number}:{row.row}" if row.row == 0 else str(row.row))


def _mark_hole(canvas: np.ndarray, hole: Hole, step: float, zoom: float, thick: int) -> None:
    at, radius = _at(hole.x_px, hole.y_px, zoom), round(0.43 * step)
    if hole.state is HoleState.CLEAN:
        cv2.circle(canvas, at, radius, CLEAN, thick, cv2.LINE_AA)
    elif hole.state is HoleState.PARTIAL:
        for start in (20, 200):
            cv2.ellipse(canvas, at, (radius, radius), 0, start, start + 140, PARTIAL, 2 * thick, cv2.LINE_AA)
        _text(canvas, f"{100 * hole.open_fraction:.0f}%", (at[0] - radius, at[1] - radius - thick), step, PARTIAL)
    elif hole.state is HoleState.DOUBTFUL:
        _text(canvas, "?", (at[0] - radius // 2, at[1] + radius // 2), step, PARTIAL)
    else:
        arm = max(1, round(0.08 * step))
        cv2.line(canvas, (at[0] - arm, at[1]), (at[0] + arm, at[1]), ABSENT, 1)
        cv2.line(canvas, (at[0], at[1] - arm), (at[0], at[1] + arm), ABSENT, 1)


def _number(canvas: np.ndarray, row: Row, step: float, zoom: float, label: str) -> None:
    """Write the row's number beyond track 5, outwards."""
    inner, outer = row.holes[0], row.holes[4]
    away = np.array([outer.x_px - inner.x_px, outer.y_px - inner.y_px])
    away = away / max(float(np.hypot(*away)), 1e-9)
    place = np.array([outer.x_px, outer.y_px]) * zoom + away * 0.75 * step
    at = (round(float(place[0]) - 0.25 * step), round(float(place[1]) + 0.15 * step))
    _text(canvas, label, at, step, INK)


def _square(canvas: np.ndarray, at: tuple[int, int], half: int, thick: int) -> None:
    cv2.rectangle(canvas, (at[0] - half, at[1] - half), (at[0] + half, at[1] + half), INK, thick)


def _text(canvas: np.ndarray, text: str, at: tuple[int, int], step: float, colour: tuple[int, int, int]) -> None:
    size = step / 70
    cv2.putText(canvas, text, at, cv2.FONT_HERSHEY_SIMPLEX, size, (255, 255, 255), max(3, round(size * 5)), cv2.LINE_AA)
    cv2.putText(canvas, text, at, cv2.FONT_HERSHEY_SIMPLEX, size, colour, max(1, round(size * 2)), cv2.LINE_AA)


def _at(x: float, y: float, zoom: float) -> tuple[int, int]:
    return round((x + 0.5) * zoom - 0.5), round((y + 0.5) * zoom - 0.5)
