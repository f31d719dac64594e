r"""Lengths: feed pitch with its doubt, period of its error, offsets and diameters track by track.

Picture (x = feed hole, n = row):

    position |              .x          pitch  = slope of the regression of position on n
             |         .x'              step   = x[n] - x[n-1]; scatter = their standard deviation
             |    x .'                  cumulative = distance of a hole from the line
             | .'                       period = rows after which the error comes back
             +----------------- n

Doubt of the pitch: position noise w (white) and step noise s (a walk) are told apart by the steps' own
covariance, cov(step n, step n+1) = -w^2, var(step) = s^2 + 2 w^2. A least squares slope over N rows then has
u^2 = 12 w^2 / N^3 + 6/5 s^2 / N; to this comes the doubt of the scale.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.number import Reading, missing
from tapewright.pictures.picture import FloatArray, IntArray
from tapewright.reference.five_unit_tape import GRID_MM
from tapewright.tape.added_up import Place, worst_place, worst_stretch
from tapewright.tape.document import Feed, Track
from tapewright.tape.holes import HoleState
from tapewright.tape.period import find_period
from tapewright.tape.posed import STEP_OF_TRACK, Posed
from tapewright.tape.scale import Scale

FEWEST_FOR_PITCH = 8
#: Share by which both spacings must change along a strip to be called a slant.
SLANT_FROM = 0.006
SLANTED = "the picture is taken at a slant"
#: Farthest distance of the camera, in lengths of the strip, for a picture that the strip fills (field of view of some
#: 40 degrees; common practice, no source).
FARTHEST_LENGTHS = 1.5
SHORT_BELOW, LONG_ABOVE = 0.85, 1.15
#: Systematic part of a centre and of a diameter that does not average out, in pixels of the picture: rim shading,
#: sampling, the picture's own compression (measured on drawn tapes).
CENTRE_FLOOR_PX, DIAMETER_FLOOR_PX = 0.02, 0.10
#: Doubt of the middle along when fewer than three tracks are punched (remembered, low confidence); and how much
#: wider than a mean's the doubt of a median line through five tracks is: 1.25 for the median, 3.18 / 2 for so few
#: (Student's t, three degrees of freedom).
LONE_TRACK_MM, SPREAD_OF_MIDDLE = 0.05, 2.0
#: The pixel raster itself gives a small swing that comes back every few rows; below this nothing is called a period.
PERIOD_FLOOR_PX = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Millimetres:
    """A posed strip in millimetres, all of shape (n,): a step along, one across, local scale, places along.

    `px_per_mm` is that of an area's root. `slanted` says that the picture was taken at a slant, and `shortened_u` how
    well the two scales then are known against each other, relative.
    """

    step_mm: FloatArray
    track_mm: FloatArray
    px_per_mm: FloatArray
    x_mm: FloatArray
    slanted: bool
    shortened_u: float


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
    return Millimetres(step / along_px, square_px / across_px, np.sqrt(along_px * across_px), x, slanted, shortened)


def _shortened_u(nearer: FloatArray) -> float:
    """Return how much a slant may shorten lengths along the strip against those across, relative standard uncertainty.

    A camera at the distance D from the middle of a strip of length L, slanted by t along it, sees the ends nearer by
    r = L sin(t) / (2 D) and the lengths along shortened by cos(t). D is not known; a picture that the strip fills is
    taken from one to one and a half of its length.
    """
    sine = min(FARTHEST_LENGTHS * float(np.ptp(nearer)), 0.95)
    return (1 - float(np.sqrt(1 - sine**2))) / float(np.sqrt(3))


def measure_feed(posed: Posed, mm: Millimetres, scale: Scale) -> Feed:
    """Measure the feed row."""
    n = np.flatnonzero(posed.found)
    if n.size < FEWEST_FOR_PITCH:
        why = f"only {n.size} feed holes can be read; {FEWEST_FOR_PITCH} are needed"
        none = missing("mm", why)
        return Feed(none, none, none, None, none, None, None, None, None, (), (), none, none, none, none)
    x = mm.x_mm[n]
    pitch, white, walk = fit_pitch(n, x, scale)
    u_white = float(np.hypot(white, CENTRE_FLOOR_PX / scale.value))
    if mm.slanted:
        added_up = over_50 = Place(missing("mm", SLANTED), None)
    else:
        added_up = worst_place(n, x, u_white, walk)
        over_50 = worst_stretch(n, x, u_white, walk, scale)
    steps = np.diff(x) / np.diff(n)
    period = find_period(n, x, float(pitch.value or GRID_MM), smallest_mm=PERIOD_FLOOR_PX / scale.value)
    short, long = odd_steps(n, x)
    return Feed(
        pitch_mm=pitch,
        scatter_mm=_scatter(steps, u_white),
        worst_cumulative_mm=added_up.off_mm,
        worst_row=added_up.row,
        over_50_mm=over_50.off_mm,
        over_50_row=over_50.row,
        period_rows=period.rows if period else None,
        period_kind=period.kind if period else None,
        period_mm=Reading(period.size_mm, period.u_mm, "mm", n.size) if period else None,
        short_rows=short,
        long_rows=long,
        diameter_mm=_feed_diameter(posed, mm, scale),
        oval_mm=_oval(posed, mm, scale),
        advanced_mm=_advanced(posed, mm, scale),
        square_mm=_out_of_square(posed, mm, scale),
    )


def _scatter(steps: FloatArray, u_white: float) -> Reading:
    scatter = float(np.std(steps, ddof=1))
    return Reading(scatter, float(np.hypot(scatter / np.sqrt(2 * steps.size), 0.3 * u_white)), "mm", steps.size)


def fit_pitch(n: IntArray, x: FloatArray, scale: Scale) -> tuple[Reading, float, float]:
    """Return the pitch, the white position noise and the step noise (mm) of feed holes at rows n, places x."""
    steps = np.diff(x) / np.diff(n)
    centred = steps - np.median(steps)
    white = np.sqrt(_white_variance(centred))
    walk = np.sqrt(max(float(np.var(centred)) - 2 * white**2, 0.0))
    slope = float(np.polyfit(n, x, 1)[0])
    rows = float(n[-1] - n[0] + 1)
    u = np.sqrt(12 * white**2 / (n.size * rows**2) + 1.2 * walk**2 / rows + (slope * scale.relative_u) ** 2)
    return Reading(slope, float(u), "mm", int(n.size), "regression over the run"), float(white), float(walk)


def _white_variance(steps: FloatArray) -> float:
    """Return w^2 from the steps about their median.

    cov(step n, step n+1) = -w^2 + that of the feed's own swing. A swing is smooth over rows, so its part is carried
    over from two and three rows apart (a parabola in the distance); the larger of both answers is the careful one.
    """

    def covariance(apart: int) -> float:
        return float(np.mean(steps[apart:] * steps[:-apart])) if steps.size > apart else 0.0

    swing = (8 * covariance(2) - 3 * covariance(3)) / 5
    half = float(np.var(steps)) / 2
    return max(-covariance(1), min(swing - covariance(1), half), 0.0)


def odd_steps(n: IntArray, x: FloatArray) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return the rows that come too soon and too late after the row before."""
    steps = np.diff(x) / np.diff(n)
    middle = float(np.median(steps))
    short = n[1:][steps < SHORT_BELOW * middle]
    long = n[1:][(steps > LONG_ABOVE * middle) & (np.diff(n) == 1)]
    return tuple(int(r) for r in short), tuple(int(r) for r in long)


def _feed_diameter(posed: Posed, mm: Millimetres, scale: Scale) -> Reading:
    good = posed.feed_clean
    if good.sum() < 3:
        return missing("mm", "too few whole feed holes")
    return _mean(diameter_of(posed.feed_area_px[good]) / mm.px_per_mm[good], scale, DIAMETER_FLOOR_PX)


def _oval(posed: Posed, mm: Millimetres, scale: Scale) -> Reading:
    good = posed.feed_clean
    if good.sum() < 3:
        return missing("mm", "too few whole feed holes")
    return _mean(posed.feed_oval[good] * mm.step_mm[good], scale, DIAMETER_FLOOR_PX)


def diameter_of(area: FloatArray) -> FloatArray:
    """Return the diameter of the disc of that area."""
    return np.asarray(np.sqrt(4 / np.pi * np.maximum(area, 0.0)))


def _advanced(posed: Posed, mm: Millimetres, scale: Scale) -> Reading:
    clean = posed.states == HoleState.CLEAN
    if clean.sum() < 6:
        return missing("mm", "too few whole code holes")
    ahead = ((posed.u + posed.advance) * mm.step_mm[:, None])[clean]
    return _mean(ahead, scale, CENTRE_FLOOR_PX)


def _out_of_square(posed: Posed, mm: Millimetres, scale: Scale) -> Reading:
    """Return how far track 5 lies behind track 1, measured square to the feed row."""
    clean = posed.states == HoleState.CLEAN
    if clean.sum() < 12 or (clean.sum(axis=0) > 0).sum() < 3:
        return missing("mm", "too few whole code holes in different tracks")
    row, track = np.nonzero(clean)
    place = posed.places[row, track] + posed.u[clean] * posed.along[row] + posed.v[clean] * posed.across[row]
    along = np.real((place - posed.z[row]) / posed.along[row]) * mm.step_mm[row]
    step = STEP_OF_TRACK[track]
    fit, covariance = np.polyfit(step, along, 1, cov=True)
    u = float(np.hypot(5 * np.sqrt(covariance[0, 0]), CENTRE_FLOOR_PX / scale.value))
    return Reading(float(5 * fit[0]), u, "mm", int(clean.sum()))


def _mean(values: FloatArray, scale: Scale, floor_px: float) -> Reading:
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
    punched = posed.states[:, k] != HoleState.ABSENT
    partial = posed.states[:, k] == HoleState.PARTIAL
    clean = punched & ~partial
    load = (posed.states != HoleState.ABSENT).sum(axis=1)
    before = np.concatenate([[False], punched[:-1]])
    none = missing("mm", "no whole hole in this track")
    diameter = diameter_of(posed.area_px[clean, k]) / mm.px_per_mm[clean]
    along, across = offsets
    return Track(
        track=k + 1, punched=int(punched.sum()), partial=int(partial.sum()),
        diameter_mm=_mean(diameter, scale, DIAMETER_FLOOR_PX) if clean.any() else none,
        along_mm=_along_mean(along[clean, k], scale, middle) if clean.any() else none,
        across_mm=_offset_mean(across[clean, k], scale, k) if clean.any() else none,
        by_load={m: (int((partial & (load == m)).sum()), int((punched & (load == m)).sum())) for m in range(1, 6)},
        after={b: (int((partial & (before == b)).sum()), int((punched & (before == b)).sum())) for b in (False, True)},
    )  # fmt: skip


def _along_mean(values: FloatArray, scale: Scale, middle: Middle) -> Reading:
    """Return the mean offset along; the doubt of the middle it is counted from is shared by all tracks."""
    mean = _mean(values, scale, CENTRE_FLOOR_PX)
    how = "from the middle of all tracks, whose own doubt is in it"
    return Reading(mean.value, float(np.hypot(mean.u or 0.0, middle.u_mm)), "mm", mean.n, how)


def _offset_mean(values: FloatArray, scale: Scale, k: int) -> Reading:
    """Return the mean offset across; the doubt of the scale counts for the whole distance from the feed line."""
    mean = _mean(values, scale, CENTRE_FLOOR_PX)
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
