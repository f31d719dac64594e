"""What the raw files look like: the trace of the line with its characters, the tape's picture with its rings.

    line of the book --its raw files and steps--> measured again --> drawing, with the file's fingerprint

Nothing of it is in the book: it holds the raw bytes, and the same bytes give the same drawing. Whoever shows it several
times may keep the drawings by the key they come with.
"""

import base64
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from tapewright.book.entry import Entry
from tapewright.book.ports import Book
from tapewright.book.store.laid_out import laid_out
from tapewright.errors import TapewrightError
from tapewright.furniture.pages.blocks import Block, Picture, Text
from tapewright.furniture.plot import CARD, Drawing
from tapewright.line import from_settings as line
from tapewright.line.document import LineTrace
from tapewright.line.read import LineReport
from tapewright.line.trace import Room, draw_trace, telling_character
from tapewright.pictures.decode import read_picture
from tapewright.proof.document import ProofDocument
from tapewright.tape import read as tape
from tapewright.tape.document import Tape
from tapewright.tape.overlay import marked

WIDTH_MM, LEFT_MM, RIGHT_MM, ROW_MM = 174.0, 14.0, 3.0, 37.0
#: Characters of a row of the trace, and how long such a row may be at most, in units.
ROW_CHARACTERS, ROW_UNITS = 6, 60.0
#: Rows of the trace: as found the place that tells most, as left the beginning.
ROWS = {"as found": 1, "as left": 4}
#: Round the holes of a tape so much of the picture is shown.
MARGIN_MM = 12.0
#: A piece of tape is at most so many times as long as it is wide on the page; so many pieces are shown.
LONGEST_PIECE, MOST_PIECES = 7, 8
WIDEST_PX, HIGHEST_MM, QUALITY = 2000, 205.0, 88
BYTES = np.ndarray[tuple[int, ...], np.dtype[Any]]


@dataclass(frozen=True, slots=True)
class RawPictures:
    """Blocks for the section of the line and for that of the tape."""

    line: tuple[Block, ...] = ()
    tape: tuple[Block, ...] = ()


Draw = Callable[[Mapping[str, Path], Mapping[str, Any], str], Block]
#: Gives the drawing of this key: made now, or kept from before.
Once = Callable[[str, Callable[[], Block]], Block]


def raw_pictures(book: Book, proof: ProofDocument, once: Once = lambda _, make: make()) -> RawPictures:
    """Draw the raw files that the proof's figures were measured from; where that cannot be, say why.

    Args:
        book: holds the raw files.
        proof: says which lines of the book its figures are from.
        once: may keep a drawing. Its key holds all that a drawing depends on: files by fingerprint, settings, phase.
    """
    keys = {used.number: used.key for used in proof.trail.lines}
    tried = partial(_tried, book, once)
    return RawPictures(
        tuple(tried(book.entry(keys[f.line]), f.phase, "line", _line) for f in proof.line if f.line in keys),
        tuple(tried(book.entry(keys[t.line]), t.phase, "tape", _tape) for t in proof.tape if t.line in keys),
    )


def _tried(book: Book, once: Once, entry: Entry, phase: str, what: str, draw: Draw) -> Block:
    body = entry.new.body
    sources, steps = body.get("sources", ()), body.get("steps")
    role = {"line": "capture", "tape": "picture"}[what]
    try:
        sha256 = next(str(s["sha256"]) for s in sources if s.get("role") == role)
        settings = steps.get("settings", {}) if isinstance(steps, Mapping) else {}
        key = json.dumps(["proof", what, phase, sources, settings], sort_keys=True, default=str)
        block = once(key, lambda: _drawn(book, list(sources), settings, phase, draw))
    except StopIteration:
        return Text(f"The {what} {phase} cannot be drawn: its raw {role} is not in the book.", quiet=True)
    except (TapewrightError, KeyError, TypeError, ValueError, AttributeError, IndexError) as why:
        # a raw file measured by another version, or settings of one: what exactly is odd about them nobody knows
        return Text(f"The {what} {phase} cannot be drawn from its raw {role}: {why}", quiet=True)
    if isinstance(block, Picture):
        shows = f"{block.shows} Drawn from the raw file {sha256[:16]}… in line {entry.number} of the book."
        return Picture(block.svg, shows, block.width_mm)
    return block


def _drawn(book: Book, sources: list[Mapping[str, Any]], settings: Mapping[str, Any], phase: str, draw: Draw) -> Block:
    with laid_out(book, sources) as files:
        return draw(files, settings, phase)


def _line(files: Mapping[str, Path], settings: Mapping[str, Any], phase: str) -> Block:
    report = line.measure(files, settings, fingerprint=False)
    trace = report.result.trace
    if trace is None or not report.result.characters:
        return Text(f"The line {phase} has no characters to draw.", quiet=True)
    first = 0 if phase == "as left" else telling_character(report.result, trace, ROW_CHARACTERS)
    rows = _rows(trace, (report.result.speed.unit_ms.value or 0.0) / 1e3, first, ROWS[phase])
    drawing = Drawing(WIDTH_MM, ROW_MM * len(rows), f"The line {phase}, with its characters")
    drawing.rect(0, 0, WIDTH_MM, ROW_MM * len(rows), fill=CARD)
    for n, row in enumerate(rows):
        room = Room(LEFT_MM, ROW_MM * n + 9.0, WIDTH_MM - LEFT_MM - RIGHT_MM, 18.0)
        draw_trace(drawing, report.result, trace, row, room)
    return Picture(drawing.svg(), _shown(report, phase, rows), WIDTH_MM)


def _rows(trace: LineTrace, unit_s: float, first: int, most: int) -> list[tuple[int, int]]:
    """Return the characters of each row, from and to: as many as there is room for without pressing them together."""
    starts, rows = trace.frames.start_s, list[tuple[int, int]]()
    while len(rows) < most and first < starts.size:
        last = min(first + ROW_CHARACTERS, starts.size) - 1
        while last > first and starts[last] - starts[first] > ROW_UNITS * unit_s:
            last -= 1
        rows.append((first, last))
        first = last + 1
    return rows


def _shown(report: LineReport, phase: str, rows: list[tuple[int, int]]) -> str:
    said = report.result.characters[rows[0][0] : rows[-1][1] + 1]
    where = "from the beginning" if rows[0][0] == 0 else f"from character {rows[0][0] + 1}"
    text = " ".join(c.letter_or_figure for c in said)
    return (
        f"The line {phase}, {len(said)} characters {where}: {text}. Bands are the elements 1 to 5; a flag is as long "
        "as an instant is late or early, with the milliseconds."
    )


def _tape(files: Mapping[str, Path], settings: Mapping[str, Any], phase: str) -> Block:
    picture = read_picture(files["picture"])
    reading = tape.measure_picture(picture, settings, files.get("limits"))
    whole = marked(picture.picture, reading)
    pieces, more = _pieces(_cut(whole, reading, whole.shape[1] / picture.picture.pixels.shape[1]))
    high, wide = pieces.shape[:2]
    width_mm = min(WIDTH_MM, HIGHEST_MM * wide / high)
    drawing = Drawing(width_mm, width_mm * high / wide, f"The tape {phase}, its picture with every hole marked")
    drawing.add("image", x=0, y=0, width=width_mm, height=width_mm * high / wide, href=_data_of(pieces))
    rows = sum(len(strip.rows) for strip in reading.strips)
    cut = " The tape is cut into pieces that follow each other from top to bottom." if len(more) else ""
    rest = " The rest of it is left out." if "rest" in more else ""
    shows = f"The picture of the tape {phase}, {rows} rows, paled: a whole ring is a clean hole, a broken ring one "
    return Picture(drawing.svg(), f"{shows}that is not cut clean, with how far it is open.{cut}{rest}", width_mm)


def _cut(whole: BYTES, reading: Tape, zoom: float) -> BYTES:
    """Cut the tape out of the picture, lying down."""
    at = np.array([(h.x_px, h.y_px) for strip in reading.strips for row in strip.rows for h in row.holes])
    margin = MARGIN_MM * reading.px_per_mm
    low = np.maximum(np.floor((at.min(axis=0) - margin) * zoom), 0).astype(int)
    high = np.ceil((at.max(axis=0) + margin) * zoom).astype(int)
    out = whole[low[1] : high[1], low[0] : high[0]]
    return np.rot90(out) if out.shape[0] > 1.5 * out.shape[1] else out


def _pieces(tape_: BYTES) -> tuple[BYTES, tuple[str, ...]]:
    """Cut a long tape into pieces one below the other; say whether it was cut, and whether a rest was left out."""
    high, wide = tape_.shape[:2]
    long = LONGEST_PIECE * high
    if wide <= 1.4 * long:
        return _smaller(tape_), ()
    needed = -(-wide // long)
    gap = max(1, high // 20)
    canvas = np.full(((high + gap) * min(needed, MOST_PIECES) - gap, long, 3), 255, np.uint8)
    for n in range(min(needed, MOST_PIECES)):
        piece = tape_[:, n * long : (n + 1) * long]
        canvas[n * (high + gap) : n * (high + gap) + high, : piece.shape[1]] = piece
    return _smaller(canvas), ("cut", "rest") if needed > MOST_PIECES else ("cut",)


def _smaller(pixels: BYTES) -> BYTES:
    high, wide = pixels.shape[:2]
    share = min(1.0, WIDEST_PX / wide, WIDEST_PX * HIGHEST_MM / WIDTH_MM / high)
    if share == 1.0:
        return np.ascontiguousarray(pixels)
    size = (max(1, round(wide * share)), max(1, round(high * share)))
    return cv2.resize(np.ascontiguousarray(pixels), size, interpolation=cv2.INTER_AREA)


def _data_of(pixels: BYTES) -> str:
    done, data = cv2.imencode(".jpg", pixels, [cv2.IMWRITE_JPEG_QUALITY, QUALITY])
    if not done:
        raise ValueError("the picture could not be written")
    return f"data:image/jpeg;base64,{base64.b64encode(data.tobytes()).decode()}"
