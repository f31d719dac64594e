"""A strip in millimetres: steps along and across, and every hole's place and size, track by track."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from tapewright.number import Reading, missing
from tapewright.pictures.picture import BoolArray, FloatArray
from tapewright.reference.five_unit_tape import GRID_MM
from tapewright.tape.document import HoleState, Track
from tapewright.tape.holes import is_punched
from tapewright.tape.pose import STEP_OF_TRACK, Posed
from tapewright.tape.scale import Scale

#: Share by which both spacings must change along a strip to be called a slant.
SLANT_FROM = 0.006
SLANTED = "the picture is taken at a slant"
#: A tape is called curled when a tenth of its steps is longer or shorter, over some ten rows, by more than this (no
#: feed drags so much without tearing the holes: common practice, no source).
CURLED_FROM, CURLED_QUANTILE = 0.03, 0.9
CURLED = "the tape is curled or stretched"
#: Farthest distance of the camera, in lengths of the strip, for a picture that the strip fills (field of view of some
#: 40 degrees; common practice, no source).
FARTHEST_LENGTHS = 1.5
#: Systematic part of a centre and of a diameter that does not average out, in pixels of the picture: rim shading,
#: sampling, the picture's own compression (measured on drawn tapes).
CENTRE_FLOOR_PX, DIAMETER_FLOOR_PX = 0.02, 0.10
#: Doubt of the middle along when fewer than three tracks are punched (remembered, low confidence); and how much
#: wider than a mean's the doubt of a median line through five tracks is: 1.25 for the median, 3.18 / 2 for so few
#: (Student's t, three degrees of freedom).
LONE_TRACK_MM, SPREAD_OF_MIDDLE = 0.05, 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Millimetres:
    """A posed strip in millimetres, all of shape (n,): a step along, one across, local scale, places along.

    `px_per_mm` is that of an area's root. `slanted` says that the picture was taken at a slant, and `shortened_u` how
    well the two scales then are known against each other, relative. `tilt_deg` is the angle at which a far camera would
    see the grid so; `curled` says that the steps change along the tape as they do on no flat one.
    """

    step_mm: FloatArray
    track_mm: FloatArray
    px_per_mm: FloatArray
    x_mm: FloatArray
    slanted: bool
    shortened_u: float
    tilt_deg: float = 0.0
    curled: bool = False


@dataclass(frozen=True, slots=True)
class Middle:
    """Where the code rows lie against their feed holes, along, with its standard uncertainty, mm."""

    value_mm: float
    u_mm: float


def in_millimetres(posed: Posed, scale: Scale) -> Millimetres:
    """Return the local step sizes and the feed positions along the strip.

    Where both the tracks' spacing and the pitch in pixels change along the strip, the picture was taken at a slant.
    With w the depth of a place, lengths square to the strip are then drawn as 1 / w and lengths along it as 1 / w^2
    (a line in perspective: p = (a + b s) / (c + d s)); the die does not change, so the tracks' spacing gives w.
    """
    across, step = np.abs(posed.across), np.abs(posed.along)
    square_px = np.abs((posed.across / posed.along).imag) * step
    slanted = bool(min(np.ptp(across) / np.mean(across), np.ptp(step) / np.mean(step)) > SLANT_FROM)
    nearer = square_px / np.mean(square_px) if slanted else np.ones(posed.rows)
    along_px, across_px = (scale.value * nearer**power for power in (2, 1))
    middle = (along_px[1:] + along_px[:-1]) / 2
    tangent = posed.along / np.abs(posed.along)
    tangent = tangent[1:] + tangent[:-1]
    tangent = tangent / np.abs(tangent)
    steps = np.real(np.diff(posed.z) * np.conj(tangent)) / middle
    x = np.concatenate([[0.0], np.cumsum(steps)]) if posed.rows else np.empty(0)
    shortened = _shortened_u(nearer) if slanted else 0.0
    return Millimetres(
        step / along_px,
        square_px / across_px,
        np.sqrt(along_px * across_px),
        x,
        slanted,
        shortened,
        _tilt_deg(posed),
        bool(np.quantile(np.abs(posed.shortened - 1), CURLED_QUANTILE) > CURLED_FROM) if posed.rows else False,
    )


def _tilt_deg(posed: Posed) -> float:
    """Return the tilt of a far camera (weak perspective): it draws one direction of the grid shorter by its cosine."""
    along, across = complex(np.median(posed.along.real), np.median(posed.along.imag)), complex(
        np.median(posed.across.real), np.median(posed.across.imag)
    )
    long, short = np.linalg.svd(np.array([[along.real, across.real], [along.imag, across.imag]]), compute_uv=False)
    return float(np.degrees(np.arccos(min(short / long, 1.0))))


def _shortened_u(nearer: FloatArray) -> float:
    """Return how much a slant may shorten lengths along the strip against those across, relative standard uncertainty.

    A camera at the distance D from the middle of a strip of length L, slanted by t along it, sees the ends nearer by
    r = L sin(t) / (2 D) and the lengths along shortened by cos(t). D is not known; a picture that the strip fills is
    taken from one to one and a half of its length.
    """
    sine = min(FARTHEST_LENGTHS * float(np.ptp(nearer)), 0.95)
    return (1 - float(np.sqrt(1 - sine**2))) / float(np.sqrt(3))


def diameter_of(area: FloatArray) -> FloatArray:
    """Return the diameter of the disc of that area."""
    return np.asarray(np.sqrt(4 / np.pi * np.maximum(area, 0.0)))


def mean_of(values: FloatArray, scale: Scale, floor_px: float) -> Reading:
    """Return the mean of lengths in mm, with a floor of the doubt in pixels and the doubt of the scale."""
    value = float(np.mean(values))
    spread = float(np.std(values, ddof=1)) / np.sqrt(values.size) if values.size > 1 else 0.0
    u = np.sqrt(spread**2 + (floor_px / scale.value) ** 2 + (value * scale.relative_u) ** 2)
    return Reading(value, float(u), "mm", int(values.size))


def measure_tracks(posed: Posed, mm: Millimetres, scale: Scale) -> tuple[Track, ...]:
    """Measure tracks 1 to 5."""
    middle = middle_along(posed, mm)
    offsets = hole_offsets(posed, mm, middle)
    return tuple(_track(posed, mm, scale, k, middle, offsets) for k in range(5))


def _track(
    posed: Posed, mm: Millimetres, scale: Scale, k: int, middle: Middle, offsets: tuple[FloatArray, FloatArray]
) -> Track:
    punched = is_punched(posed.states[:, k])
    partial = posed.states[:, k] == HoleState.PARTIAL
    clean = punched & ~partial
    load = is_punched(posed.states).sum(axis=1)
    before = np.concatenate([[False], punched[:-1]])
    none = missing("mm", "no whole hole in this track")
    diameter = diameter_of(posed.area_px[clean, k]) / mm.px_per_mm[clean]
    along, across = offsets
    return Track(
        track=k + 1,
        punched=int(punched.sum()),
        partial=int(partial.sum()),
        diameter_mm=mean_of(diameter, scale, DIAMETER_FLOOR_PX) if clean.any() else none,
        along_mm=_along_mean(along[clean, k], scale, middle) if clean.any() else none,
        across_mm=_offset_mean(across[clean, k], scale, k) if clean.any() else none,
        partial_by_holes_in_row={str(m): _of(partial, punched & (load == m)) for m in range(1, 6)},
        partial_after_punched=_of(partial, punched & before),
        partial_after_absent=_of(partial, punched & ~before),
    )


def _of(partial: BoolArray, among: BoolArray) -> tuple[int, int]:
    return int((partial & among).sum()), int(among.sum())


def _along_mean(values: FloatArray, scale: Scale, middle: Middle) -> Reading:
    """Return the mean offset along; the doubt of the middle it is counted from is shared by all tracks."""
    mean = mean_of(values, scale, CENTRE_FLOOR_PX)
    how = "from the middle of all tracks, whose own doubt is in it"
    return Reading(mean.value, float(np.hypot(mean.u or 0.0, middle.u_mm)), "mm", mean.n, how)


def _offset_mean(values: FloatArray, scale: Scale, k: int) -> Reading:
    """Return the mean offset across; the doubt of the scale counts for the whole distance from the feed line."""
    mean = mean_of(values, scale, CENTRE_FLOOR_PX)
    far = abs(int(STEP_OF_TRACK[k])) * GRID_MM * scale.relative_u
    return Reading(mean.value, float(np.hypot(mean.u or 0.0, far)), "mm", mean.n)


def middle_along(posed: Posed, mm: Millimetres) -> Middle:
    """Return how far the code rows stand beyond their feed holes: what the offsets along are counted from.

    One pin that stands off must not shift the others, so it is a line through the tracks' means by the median slope
    (Theil and Sen, from memory), read at the feed row. Its doubt is the spread of the tracks about it; with fewer than
    three tracks nothing tells a pin from the middle, and a remembered tolerance of the pins stands in.
    """
    whole = posed.states == HoleState.CLEAN
    if not whole.any():
        return Middle(0.0, LONE_TRACK_MM)
    place = posed.places + posed.u * posed.along[:, None] + posed.v * posed.across[:, None]
    ahead = ((place - posed.z[:, None]) / posed.along[:, None]).real * mm.step_mm[:, None]
    tracks = np.flatnonzero(whole.any(axis=0))
    step, mean = STEP_OF_TRACK[tracks], np.array([np.mean(ahead[whole[:, k], k]) for k in tracks])
    if tracks.size < 3:
        return Middle(float(np.median(mean)), LONE_TRACK_MM)
    i, j = np.triu_indices(tracks.size, 1)
    slope = float(np.median((mean[j] - mean[i]) / (step[j] - step[i])))
    left = mean - slope * step
    middle = float(np.median(left))
    # mean distance of so few is a steadier measure of their spread than the median distance
    spread = 1.25 * float(np.mean(np.abs(left - middle)))
    return Middle(middle, float(SPREAD_OF_MIDDLE * spread / np.sqrt(tracks.size)))


def hole_offsets(posed: Posed, mm: Millimetres, middle: Middle) -> tuple[FloatArray, FloatArray]:
    """Return where each hole's centre lies from the nominal grid, along and across, mm; shape (n, 5) both.

    The grid is laid through the feed hole of the row, square to the feed row; along, the strip's own advance is
    taken out (`middle`), so that a row set ahead of its feed hole on purpose does not count.
    """
    place = posed.places + posed.u * posed.along[:, None] + posed.v * posed.across[:, None]
    from_feed = (place - posed.z[:, None]) / posed.along[:, None]
    along = from_feed.real * mm.step_mm[:, None] - middle.value_mm
    turn = np.sign(np.median(np.imag(posed.across / posed.along))) if posed.rows else 1.0
    across = turn * from_feed.imag * mm.step_mm[:, None] - STEP_OF_TRACK * GRID_MM
    return along, across


def why_missing(readings: Iterable[Reading]) -> tuple[str, ...]:
    """Return why figures could not be had, each reason once."""
    return tuple(sorted({reading.how for reading in readings if reading.value is None and reading.how}))
