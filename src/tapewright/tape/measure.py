"""The whole chain: picture > strips > rows > direction > geometry > text > verdict."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapewright.alphabets import ITA2, Alphabet, decode
from tapewright.message import compare
from tapewright.message.comparison import message
from tapewright.number import Limit
from tapewright.pictures.picture import Picture
from tapewright.tape.direction import Direction, find_direction
from tapewright.tape.document import Hole, Row, StripReading, TapeReading
from tapewright.tape.edges import TapeEdges, measure_edges
from tapewright.tape.find import find_strips
from tapewright.tape.findings import find_parts
from tapewright.tape.geometry import (
    Millimetres,
    diameter_of,
    hole_offsets,
    in_millimetres,
    measure_feed,
    measure_tracks,
    middle_along,
)
from tapewright.tape.guide import measure_guide
from tapewright.tape.holes import HoleState
from tapewright.tape.own_kind import other_tape
from tapewright.tape.posed import Posed, pose
from tapewright.tape.rows import Rows, codes_of, read_rows, stretches, three_hole_side
from tapewright.tape.scale import Scale, find_scale
from tapewright.tape.twice import longer_feed_holes
from tapewright.tape.verdict import LIMITS, judge_tape

#: Evidence (nats) from which the side with three tracks counts as known.
SIDE_SURE_NATS = 4.0
FEWEST_READABLE = 4
#: Doubtful rows named in a note; the rows themselves carry the rest.
MOST_NAMED = 12
#: What is said of rows to look at.
TWICE = (
    "The feed hole of {rows} is longer than the others: the tape may hardly have moved between two strokes, and two "
    "codes stand there on one another; or a tooth tore it, or dirt touches it."
)
HIDDEN = "Writing or dirt may hide a hole, or stand for one, in {rows}: look at the tape there."


class OtherTapeError(Exception):
    """The picture shows punched tape that is not five-unit tape; the message says what it shows."""


@dataclass(frozen=True, slots=True)
class TapeOptions:
    """What the reader is told beforehand.

    Attributes:
        alphabet: for the text.
        dpi: dots per inch, None to find out.
        expected: codes that should be on the tape, None when not known.
        feed_line: "in-line", "advanced" or "auto".
        two_hole_side: where the side with two tracks lies in the picture: "top", "bottom" or "auto".
        limits: to judge against.
    """

    alphabet: Alphabet = ITA2
    dpi: float | None = None
    expected: tuple[str, ...] | None = None
    feed_line: str = "auto"
    two_hole_side: str = "auto"
    limits: tuple[Limit, ...] = LIMITS


@dataclass(frozen=True, slots=True, eq=False)
class _Placed:
    """A strip with its pose decided."""

    rows: Rows
    side: int
    side_sure: bool
    direction: Direction
    posed: Posed
    turned: bool
    mirrored: bool


def read_tape(picture: Picture, options: TapeOptions | None = None) -> TapeReading | None:
    """Read a picture of tape; None when no tape is found in it.

    Raises:
        OtherTapeError: when a strip of it is another kind of tape.
    """
    options = options or TapeOptions()
    found = find_strips(picture)
    others = [other_tape(found.levels, strip) for strip in found.strips]
    if any(others):
        # one strip of another tape is enough: whatever lies beside it is read again without it
        raise OtherTapeError(next(filter(None, others)))
    placed = [p for strip in found.strips for p in _place(read_rows(found.levels, strip), options)]
    if not placed:
        return None
    placed.sort(key=lambda p: (round(float(np.mean(p.posed.z.imag)) / (8 * p.rows.strip.pitch_px)),
                               float(np.mean(p.posed.z.real))))  # fmt: skip
    edges = [measure_edges(found.levels.grey, p.posed) if _flat(p.posed) else None for p in placed]
    longest = max(range(len(placed)), key=lambda n: placed[n].posed.rows)
    seen = edges[longest]
    width = seen.width_px if seen else None
    strips_found = [p.rows.strip for p in placed]
    scale = find_scale(strips_found, dpi=picture.dpi, given_dpi=options.dpi, width_px=width)
    strips = tuple(_measured(p, e, scale, options) for p, e in zip(placed, edges, strict=True))
    verdicts, not_judged = judge_tape(strips, options.limits, scale)
    return TapeReading(
        picture.width, picture.height, scale, found.strips[0].light, strips, verdicts, scale.notes, not_judged
    )


def _flat(posed: Posed) -> bool:
    """Return whether the pitch in pixels changes little along the strip: with a slant one width is not the scale."""
    step = np.abs(posed.along)
    return bool(np.ptp(step) < 0.03 * np.mean(step))


def _place(rows: Rows, options: TapeOptions) -> list[_Placed]:
    """Find the side with three tracks, and give each stretch of the strip that can be read with its pose."""
    side, nats = three_hole_side(rows)
    if options.two_hole_side != "auto":
        side, nats = _told_side(rows, options.two_hole_side), np.inf
    if nats < SIDE_SURE_NATS:
        side = _likelier_side(rows, options)
    parts = [part for part in stretches(rows, side) if part.stop - part.start >= FEWEST_READABLE]
    return [_pose_part(rows, part, side, bool(nats >= SIDE_SURE_NATS), options) for part in parts]


def _pose_part(rows: Rows, part: slice, side: int, side_sure: bool, options: TapeOptions) -> _Placed:
    codes = codes_of(rows, side)[part]
    direction = find_direction(
        codes, options.alphabet, advance=rows.strip.advance, feed_line=options.feed_line,
        expected=options.expected, face_up_forward=side > 0,
    )  # fmt: skip
    posed = pose(rows, part, side=side, forward=direction.forward)
    turned = bool(np.mean(np.cos(np.angle(posed.along))) < -1e-9)
    # face up, the two-hole side lies to the left of the reading direction, so track 5 to the right
    mirrored = bool(np.mean(np.imag(posed.across / posed.along)) < 0)
    return _Placed(rows, side, side_sure, direction, posed, turned, mirrored)


def _told_side(rows: Rows, two_hole_side: str) -> int:
    """Return the side of three tracks, when the user says where the two are; for an upright strip "top" is its left."""
    across = complex(np.mean(rows.strip.across))
    down = across.imag if abs(across.imag) > 0.1 * abs(across) else across.real
    return 1 if (down > 0) == (two_hole_side == "top") else -1


def _likelier_side(rows: Rows, options: TapeOptions) -> int:
    from tapewright.alphabets.plausible import cost

    costs = {}
    for side in (1, -1):
        codes = [code for part in stretches(rows, side) for code in codes_of(rows, side)[part]]
        costs[side] = min(cost(codes, options.alphabet), cost(codes[::-1], options.alphabet)) if codes else np.inf
    return min(costs, key=lambda side: costs[side])


def _measured(placed: _Placed, edges: TapeEdges | None, scale: Scale, options: TapeOptions) -> StripReading:
    posed = placed.posed
    mm = in_millimetres(posed, scale)
    scale = scale.less_sure(mm.shortened_u)
    feed, tracks = measure_feed(posed, mm, scale), measure_tracks(posed, mm, scale)
    guide = measure_guide(edges, mm, scale)
    rows = _rows(posed, mm)
    codes = tuple(row.code for row in rows)
    sure = placed.direction.sure and placed.side_sure
    other = None if sure else codes[::-1]
    return StripReading(
        turned=placed.turned, mirrored=placed.mirrored, direction=placed.direction, side_sure=placed.side_sure,
        text=decode(codes, options.alphabet), codes=codes, rows=rows, feed=feed, guide=guide, tracks=tracks,
        other_codes=other, other_text=None if other is None else decode(other, options.alphabet),
        comparison=compare(options.expected, message(codes, options.expected)) if options.expected else None,
        findings=find_parts(feed, guide, tracks, codes), notes=_notes(placed, rows),
    )  # fmt: skip


def _notes(placed: _Placed, rows: Sequence[Row]) -> tuple[str, ...]:
    notes = []
    if not placed.side_sure:
        notes.append("No hole of a third track and no edge of the tape tells which side has three tracks.")
    if not placed.direction.sure:
        notes.append(f"Which end is the beginning is not sure: {placed.direction.because}.")
    doubtful = [row.row for row in rows if placed.posed.marked[row.row].any()]
    twice = np.flatnonzero(longer_feed_holes(placed.posed)).tolist()
    if twice:
        notes.append(TWICE.format(rows=_named(twice)))
    if doubtful:
        notes.append(HIDDEN.format(rows=_named(doubtful)))
    return tuple(notes)


def _named(rows: Sequence[int]) -> str:
    """Name rows, at most MOST_NAMED of them."""
    some = ", ".join(map(str, rows[:MOST_NAMED])) + (" and others" if len(rows) > MOST_NAMED else "")
    return f"row{'s' * (len(rows) > 1)} {some} (counted from 0)"


def _rows(posed: Posed, mm: Millimetres) -> tuple[Row, ...]:
    along, across = hole_offsets(posed, mm, middle_along(posed, mm))
    clean = posed.states == HoleState.CLEAN
    diameter = diameter_of(posed.area_px) / mm.px_per_mm[:, None]
    longer = longer_feed_holes(posed)
    centre = posed.places + np.where(clean, posed.u * posed.along[:, None] + posed.v * posed.across[:, None], 0)
    share = np.where(posed.states == HoleState.ABSENT, 0.0, np.minimum(posed.share, 1.0))
    return tuple(
        _row(n, posed, clean[n], share[n].tolist(), diameter[n].tolist(), along[n].tolist(), across[n].tolist(),
             centre[n].tolist(), longer=bool(longer[n]))
        for n in range(posed.rows)
    )  # fmt: skip


def _row(
    n: int, posed: Posed, clean: np.ndarray, share: Sequence[float], diameter: Sequence[float],
    along: Sequence[float], across: Sequence[float], centre: Sequence[complex], *, longer: bool,
) -> Row:  # fmt: skip
    holes = tuple(
        Hole(k + 1, posed.states[n, k], share[k], diameter[k] if clean[k] else None, along[k] if clean[k] else None,
             across[k] if clean[k] else None, centre[k].real, centre[k].imag)
        for k in range(5)
    )  # fmt: skip
    code = "".join("0" if hole.state is HoleState.ABSENT else "1" for hole in holes)
    notes = [] if posed.found[n] else ["no feed hole seen"]
    if not posed.on_paper[n].all():
        notes.append("torn or covered")
    if longer:
        notes.append("the feed hole is longer than the others: punched twice?")
    if posed.marked[n].any():
        tracks = ", ".join(str(k + 1) for k in np.flatnonzero(posed.marked[n]))
        notes.append(f"a mark lies over track {tracks}: look at it")
    z = complex(posed.z[n])
    return Row(n, code, z.real, z.imag, holes, tuple(notes))
