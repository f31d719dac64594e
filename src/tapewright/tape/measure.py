"""The whole chain: picture > strips > rows > direction > geometry > text > verdict."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapewright.alphabets import decode
from tapewright.message import Comparison, compare
from tapewright.message.comparison import message
from tapewright.message.document import errors
from tapewright.number import Limit
from tapewright.pictures.picture import BoolArray, Picture
from tapewright.tape.direction import Direction, find_direction
from tapewright.tape.document import PUNCHED, Hole, HoleState, OtherReading, PictureScale, Row, Source, Strip, Tape
from tapewright.tape.feed import measure_feed
from tapewright.tape.find import find_strips
from tapewright.tape.findings import find_parts
from tapewright.tape.geometry import (
    Millimetres,
    diameter_of,
    hole_offsets,
    in_millimetres,
    measure_tracks,
    middle_along,
)
from tapewright.tape.guide import TapeEdges, measure_edges, measure_guide
from tapewright.tape.own_kind import other_tape
from tapewright.tape.pose import Posed, longer_feed_holes, overlaid, pose, reading_order
from tapewright.tape.rows import Rows, codes_of, read_rows, stretches, three_hole_side
from tapewright.tape.scale import Scale, find_scale
from tapewright.tape.settings import TapeSettings
from tapewright.tape.verdict import FLAT, LIMITS, judge_tape

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
HIDDEN = (
    "Writing or dirt may hide a hole, or stand for one, or a hole is hardly open, in {rows}: look at the tape there."
)
LOST = (
    "{count} beside these have a feed hole but cannot be read: torn, covered, or with holes outside the picture."
)
OVERLAID = "another strip lies over or under it"
CURLED_NOTE = (
    "The tape is curled or stretched: its steps change along it. Lay it flat under glass to measure pitch and feed."
)
TILTED = (
    "Photographed at {angle}: the text is read, but whether the rows are square is not shown. Lay the tape on a "
    "scanner, or give --dpi if it was."
)
#: A picture without a resolution that can be believed is called tilted from this angle on: a feed that is 1 % off looks
#: like 8 degrees.
TILT_FROM_DEG = 12.0
COARSE = (
    "Holes less than {percent:.0f} % open cannot be seen in this picture: scan it finer, or with more light, to find "
    "them."
)
#: From this share on a place that is hardly open is to be named (contract).
HARDLY_OPEN = 0.03


class NoTapeError(Exception):
    """The picture shows no five-unit tape that can be read.

    Attributes:
        expected: what should be in it.
        found: what was found.
        do: what would help.
    """

    def __init__(self, expected: str, found: str, do: str) -> None:
        super().__init__(found)
        self.expected, self.found, self.do = expected, found, do


@dataclass(frozen=True, slots=True)
class Told:
    """What the measuring is told: the settings, with the text as codes."""

    settings: TapeSettings
    expected: tuple[str, ...] | None


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
    lost: int


def read_tape(
    picture: Picture,
    settings: TapeSettings | None = None,
    *,
    expected: Sequence[str] | None = None,
    limits: Sequence[Limit] = LIMITS,
    file: str = "",
    sha256: str = "",
) -> Tape:
    """Read a picture of tape.

    Args:
        picture: the pixels, upright.
        settings: what the user says.
        expected: codes that should be on the tape; those of the settings' text where there are none.
        limits: to judge against.
        file: the picture's name.
        sha256: the fingerprint of its bytes.

    Raises:
        NoTapeError: when there is no five-unit tape in it that can be read.
    """
    settings = settings or TapeSettings()
    told = Told(settings, settings.expected if expected is None else tuple(expected))
    found = find_strips(picture)
    for strip in found.strips:
        # one strip of another tape is enough: whatever lies beside it is read again without it
        _refuse_other(other_tape(found.levels, strip))
    placed = [p for strip in found.strips for p in _place(read_rows(found.levels, strip), told)]
    if not placed:
        raise _nothing(seen=bool(found.strips))
    placed = [placed[n] for n in reading_order([p.posed for p in placed])]
    grey, light = found.levels.grey, found.strips[0].light
    edges = [measure_edges(grey, p.posed, light=light) if _flat(p.posed) else None for p in placed]
    longest = max(range(len(placed)), key=lambda n: placed[n].posed.rows)
    seen = edges[longest]
    width = seen.width_px if seen and not seen.lined else None
    strips_found = [p.rows.strip for p in placed]
    scale = find_scale(strips_found, dpi=picture.dpi, given_dpi=settings.dpi, width_px=width)
    under = [overlaid(p.posed, (other.posed for other in placed if other is not p)) for p in placed]
    strips = tuple(_measured(p, e, u, scale, told) for p, e, u in zip(placed, edges, under, strict=True))
    verdicts, not_judged = judge_tape(strips, limits, scale)
    return Tape(
        source=Source(file=file, sha256=sha256, width_px=picture.width, height_px=picture.height),
        scale=PictureScale(px_per_mm=scale.px_per_mm, from_=scale.source, notes=(*scale.notes, *not_judged)),
        holes="lighter than the paper" if light else "darker than the paper",
        suspicions=scale.notes,
        strips=strips,
        verdicts=verdicts,
    )


def _refuse_other(other: str) -> None:
    if other:
        raise NoTapeError(
            "five-unit tape: two tracks on one side of the feed holes, three on the other",
            other,
            "Leave what is no five-unit tape out of the picture.",
        )


def _nothing(*, seen: bool) -> NoTapeError:
    if seen:
        return NoTapeError(
            "the tape in its whole width, all five tracks and both edges, for four rows or more",
            "a row of feed holes whose code holes lie partly outside the picture, or are torn or covered",
            "Scan it again with some ground showing along both edges.",
        )
    return NoTapeError(
        "punched tape with its row of feed holes, at least six rows of it in the picture",
        "no evenly spaced row of small round holes",
        "Lay the tape on black card, or against the light, and scan it flat at 150 to 1200 dpi. White paper on a white "
        "lid shows only the rims of its holes, and rims are not read.",
    )


def _flat(posed: Posed) -> bool:
    """Return whether the pitch in pixels changes little along the strip: with a slant one width is not the scale."""
    step = np.abs(posed.along)
    return bool(np.ptp(step) < 0.03 * np.mean(step))


def _place(rows: Rows, told: Told) -> list[_Placed]:
    """Find the side with three tracks, and give each stretch of the strip that can be read with its pose."""
    side, nats = three_hole_side(rows)
    if told.settings.two_hole_side != "auto":
        side, nats = _told_side(rows, told.settings.two_hole_side), np.inf
    if nats < SIDE_SURE_NATS:
        side = _likelier_side(rows, told)
    parts = [part for part in stretches(rows, side) if part.stop - part.start >= FEWEST_READABLE]
    lost = [int(rows.strip.found[a:b].sum()) for a, b in zip([0, *(part.stop for part in parts)],
            [*(part.start for part in parts), rows.strip.rows], strict=True)]  # fmt: skip
    if parts:
        lost[-2:] = [sum(lost[-2:])]
    sure = bool(nats >= SIDE_SURE_NATS)
    return [_pose_part(rows, part, side, sure, told, n) for part, n in zip(parts, lost, strict=False)]


def _pose_part(rows: Rows, part: slice, side: int, side_sure: bool, told: Told, lost: int) -> _Placed:
    codes = codes_of(rows, side)[part]
    direction = find_direction(
        codes, told.settings.table, advance=rows.strip.advance, feed_line=told.settings.feed_line,
        expected=told.expected, face_up_forward=side > 0,
    )  # fmt: skip
    posed = pose(rows, part, side=side, forward=direction.forward)
    turned = bool(np.mean(np.cos(np.angle(posed.along))) < -1e-9)
    # face up, the two-hole side lies to the left of the reading direction, so track 5 to the right
    mirrored = bool(np.mean(np.imag(posed.across / posed.along)) < 0)
    return _Placed(rows, side, side_sure, direction, posed, turned, mirrored, lost)


def _told_side(rows: Rows, two_hole_side: str) -> int:
    """Return the side of three tracks, when the user says where the two are; for an upright strip "top" is its left."""
    across = complex(np.mean(rows.strip.across))
    down = across.imag if abs(across.imag) > 0.1 * abs(across) else across.real
    return 1 if (down > 0) == (two_hole_side == "top") else -1


def _likelier_side(rows: Rows, told: Told) -> int:
    from tapewright.alphabets.plausible import cost

    costs = {}
    for side in (1, -1):
        codes = [code for part in stretches(rows, side) for code in codes_of(rows, side)[part]]
        costs[side] = min(cost(codes, told.settings.table), cost(codes[::-1], told.settings.table)) if codes else np.inf
    return min(costs, key=lambda side: costs[side])


def _measured(placed: _Placed, edges: TapeEdges | None, under: BoolArray, scale: Scale, told: Told) -> Strip:
    posed, table = placed.posed, told.settings.table
    mm = in_millimetres(posed, scale)
    scale = scale.less_sure(mm.shortened_u)
    feed, tracks = measure_feed(posed, mm, scale), measure_tracks(posed, mm, scale)
    guide = measure_guide(edges, mm, scale)
    rows = _rows(posed, mm, under)
    codes = tuple(row.code for row in rows)
    sure = placed.direction.sure and placed.side_sure
    compared = compare_codes(codes, told.expected)
    return Strip(
        turned=placed.turned,
        mirrored=placed.mirrored,
        direction_sure=sure,
        direction_from=placed.direction.because,
        text=decode(codes, table),
        codes=codes,
        other_reading=None if sure else OtherReading(text=decode(codes[::-1], table), codes=codes[::-1]),
        rows=rows,
        feed=feed,
        guide=guide,
        tracks=tracks,
        findings=find_parts(feed, guide, tracks, flat=not _camera(mm, scale)),
        notes=(*_notes(placed, rows), *_camera(mm, scale)),
        errors=None if compared is None else errors(compared),
    )


def compare_codes(codes: Sequence[str], expected: Sequence[str] | None) -> Comparison | None:
    """Compare the message on a tape with what was expected; None where nothing was."""
    return compare(list(expected), message(codes, expected)) if expected else None


def _notes(placed: _Placed, rows: Sequence[Row]) -> tuple[str, ...]:
    notes = []
    if not placed.side_sure:
        notes.append("No hole of a third track and no edge of the tape tells which side has three tracks.")
    if not placed.direction.sure:
        notes.append(f"Which end is the beginning is not sure: {placed.direction.because}.")
    if placed.lost:
        notes.append(LOST.format(count=f"{placed.lost} row{'s' * (placed.lost > 1)}"))
    over = [row.row for row in rows if OVERLAID in row.notes]
    if over:
        notes.append(f"Another strip lies over or under {_named(over)}: these codes are not sure.")
    doubtful = [row.row for row in rows if placed.posed.marked[row.row].any()]
    twice = np.flatnonzero(longer_feed_holes(placed.posed)).tolist()
    if twice:
        notes.append(TWICE.format(rows=_named(twice)))
    if placed.posed.shown > HARDLY_OPEN:
        notes.append(COARSE.format(percent=100 * placed.posed.shown))
    if doubtful:
        notes.append(HIDDEN.format(rows=_named(doubtful)))
    return tuple(notes)


def _camera(mm: Millimetres, scale: Scale) -> tuple[str, ...]:
    """Return notes on how the tape lay before the camera."""
    notes = [CURLED_NOTE] if mm.curled else []
    if scale.source not in FLAT and (mm.slanted or mm.tilt_deg > TILT_FROM_DEG):
        angle = f"about {mm.tilt_deg:.0f} degrees" if mm.tilt_deg > TILT_FROM_DEG else "a slant"
        notes.append(TILTED.format(angle=angle))
    return tuple(notes)


def _named(rows: Sequence[int]) -> str:
    """Name rows, at most MOST_NAMED of them."""
    some = ", ".join(map(str, rows[:MOST_NAMED])) + (" and others" if len(rows) > MOST_NAMED else "")
    return f"row{'s' * (len(rows) > 1)} {some} (counted from 0)"


def _rows(posed: Posed, mm: Millimetres, under: BoolArray) -> tuple[Row, ...]:
    along, across = hole_offsets(posed, mm, middle_along(posed, mm))
    clean = posed.states == HoleState.CLEAN
    diameter = diameter_of(posed.area_px) / mm.px_per_mm[:, None]
    longer = longer_feed_holes(posed)
    centre = posed.places + np.where(clean, posed.u * posed.along[:, None] + posed.v * posed.across[:, None], 0)
    return tuple(
        _row(n, posed, clean[n], posed.share[n].tolist(), diameter[n].tolist(), along[n].tolist(), across[n].tolist(),
             centre[n].tolist(), longer=bool(longer[n]), under=bool(under[n]))
        for n in range(posed.rows)
    )  # fmt: skip


def _row(
    n: int, posed: Posed, clean: np.ndarray, share: Sequence[float], diameter: Sequence[float],
    along: Sequence[float], across: Sequence[float], centre: Sequence[complex], *, longer: bool, under: bool,
) -> Row:  # fmt: skip
    holes = tuple(
        Hole(
            track=k + 1,
            state=posed.states[n, k],
            open_fraction=round(share[k], 3),
            diameter_mm=round(diameter[k], 4) if clean[k] else None,
            along_mm=round(along[k], 4) if clean[k] else None,
            across_mm=round(across[k], 4) if clean[k] else None,
            x_px=round(centre[k].real, 3),
            y_px=round(centre[k].imag, 3),
        )
        for k in range(5)
    )
    code = "".join("01"[hole.state in PUNCHED] for hole in holes)
    notes = [] if posed.found[n] else ["no feed hole seen"]
    if not posed.on_paper[n].all():
        notes.append("torn or covered")
    if under:
        notes.append(OVERLAID)
    if longer:
        notes.append("the feed hole is longer than the others: punched twice?")
    if posed.marked[n].any():
        tracks = ", ".join(str(k + 1) for k in np.flatnonzero(posed.marked[n]))
        notes.append(f"a mark lies over track {tracks}, or it is hardly open: look at it")
    z = complex(posed.z[n])
    return Row(row=n, code=code, x_px=round(z.real, 3), y_px=round(z.imag, 3), holes=holes, notes=tuple(notes))
