r"""Is a position punched, and how far? One model for all: a disc of its pin's own size and place, cut by a flap.

       .-----.
     /    |###\        ### open: the part of the disc beyond a chord at the distance c (in radii) from the middle, on
    |     |####|       the side where the flap does not hang. Open share = (acos c - c sqrt(1 - c^2)) / pi
     \    |###/
       '-...-'

The open area is an integral over the disc, so it does not depend on the angle at which the flap hangs; neither do the
second moments, which tell a disc of any size from a disc that is cut. What is open in part is held against the model
at every chord and angle (least squares on a polar grid): writing, dirt and print fill the disc otherwise and reach
over its outline, and leave more of what is seen unexplained.
"""

import functools
from dataclasses import dataclass, replace

import numpy as np

from tapewright.pictures.picture import BoolArray, FloatArray, IntArray, Points
from tapewright.tape.document import HoleState
from tapewright.tape.openings import FEED, Openings
from tapewright.tape.windows import REACH, SAMPLES, SIDE, Windows

RING_STEP, ANGLES = 0.1, 36
RINGS = np.arange(0.5 * RING_STEP, 1.40, RING_STEP)
CHORDS = np.linspace(-0.95, 0.95, 39)
#: Widths of an edge's blur for which the model is kept ready, in radii of the hole.
BLURS = np.arange(0.05, 0.51, 0.05)
#: From this share on a hole counts as punched; from 3 % on it is doubtful (contract), which may be measured as 2 %.
PUNCHED_FROM, DOUBTFUL_FROM = 0.14, 0.02
#: Nearly whole: below the first the hole is cut in part, between both when area and shape say so by so many standard
#: deviations of the whole holes of its track, with floors of the area (share) and the shape (stretch).
CUT_BELOW, WHOLE_FROM, SIGMAS = 0.86, 0.97, 5.0
AREA_FLOOR, STRETCH_FLOOR = 0.004, 0.015
#: A hole whose stretch is less is round: a disc cut to 86 % has 0.10 (geometry).
ROUND_BELOW = 0.08
#: Paper beside a place counts as marked from this share of its ring on.
SPOILT_FROM = 0.04
#: An opening stands clear of the noise of plain paper from so many standard deviations on; plain paper has less open.
SHOWN_SIGMAS, EMPTY_BELOW = 4.0, 0.06
#: What the model may leave unexplained of what is open (a share of its mean square; measured on drawn flaps, dirt and
#: pen strokes: of flaps 3 to 6 % open up to 0.6, wider ones 0.3 and less, of dirt 0.32 and more): below the first it is
#: a cut hole, from the second on a mark; an opening of a few per cent is doubtful below the last.
SURE_BELOW, MARKED_FROM, DOUBT_BELOW, DOUBT_IF_TINY = 0.15, 0.25, 0.40, 0.60
#: What is hardly open has so much of the area that the model makes of it, at the least; where less is open than the
#: second share, noise moves the model as much.
LIKE_MODEL, TOO_SMALL_TO_COMPARE = 0.40, 0.04
#: A punched hole, even half of one, shows its outline along a good part of the circle; a pen stroke crosses the
#: circle, a spot of dirt fills a few of its angles.
RIM_FROM, RIM_IF_SPOILT, INNER_FULL, INNER_WHOLE = 0.25, 0.33, 0.80, 0.86
#: From this share of its outline on, a hole is there whatever lies beside it.
RIM_SURE, RIM_CUT, RIM_WHOLE = 0.55, 0.40, 0.90
#: A hole 14 % open, a segment of the circle, shows 30 % of its outline (geometry). With half of that, or with more
#: open beside a mark than any mark alone needs (owner's choice), a hole may hide. Any outline at all is looked at.
RIM_MAYBE, OPEN_MAYBE, RIM_SEEN = 0.15, 0.35, 0.05
#: Blur where no hole is whole; from here outwards its edge is looked at; so many holes and papers tell enough.
USUAL_BLUR, NEAR_EDGE, MOST_SAMPLES = 0.15, 0.45, 60
#: Holes of one track that make its own measure of a whole one; and its size against the strip's.
FEWEST_ROUND, SMALLEST_PIN, LARGEST_PIN = 3, 0.55, 1.25


@functools.cache
def _model(blur: float) -> tuple[FloatArray, Points, FloatArray, FloatArray]:
    """Return cut discs seen with a blur.

    Returns:
        weights, shape (rings, 1): the area of a sample, all areas within the disc's outline sum to about 1;
        their transforms over the angle, weighted, shape (chords, rings, frequencies), and weighted energy, shape
        (chords,); the open shares, shape (chords,).
    """
    from scipy.special import ndtr

    turn = 2 * np.pi * np.arange(ANGLES) / ANGLES
    disc = ndtr((1 - RINGS[:, None]) / blur)
    seen = disc * ndtr((RINGS[:, None] * np.cos(turn) - CHORDS[:, None, None]) / blur)
    weight: FloatArray = 2 * RINGS[:, None] * RING_STEP / ANGLES
    share: FloatArray = (np.arccos(CHORDS) - CHORDS * np.sqrt(1 - CHORDS**2)) / np.pi
    energy: FloatArray = (weight * seen**2).sum(axis=(1, 2))
    return weight, np.asarray(np.fft.rfft(seen * weight), np.complex128), energy, share


def fit_cut_discs(polar: FloatArray, blur: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Fit a disc cut by a chord to what is open.

    Args:
        polar: shape (n, rings, angles), openness about the place of the hole, rings in its radii.
        blur: width of an edge, in radii.

    Returns:
        The open share of the best model, what it leaves unexplained, and what is there at all (mean square openness
        times area of the disc), each of shape (n,).
    """
    weight, models, energy, share = _model(float(BLURS[np.argmin(np.abs(BLURS - blur))]))
    seen = np.fft.rfft(polar)
    alike = np.fft.irfft(np.einsum("nrf,crf->ncf", seen, models.conj()), ANGLES).max(axis=2)
    there = (weight * polar**2).sum(axis=(1, 2))
    left = there[:, None] - 2 * alike + energy
    best = np.argmin(left, axis=1)
    return share[best], left[np.arange(left.shape[0]), best], there


def _polar(
    windows: Windows,
    seen: Openings,
    where: tuple[IntArray, IntArray],
    centre: Points,
    radius: FloatArray,
    sign: float,
) -> FloatArray:
    """Return the openness about places in the windows, shape (n, rings, angles); centre and radius in grid steps."""
    row, column = where
    turn = np.exp(2j * np.pi * np.arange(ANGLES) / ANGLES)
    place = (centre[:, None, None] + radius[:, None, None] * RINGS[:, None] * turn) * SAMPLES + REACH * (1 + 1j)
    place = np.clip(place.real, 0, SIDE - 1.001) + 1j * np.clip(place.imag, 0, SIDE - 1.001)
    x, y = place.real.astype(int), place.imag.astype(int)
    a, b = place.real - x, place.imag - y
    grey = windows.grey[row, column].astype(np.float32).reshape(-1, SIDE, SIDE)
    n = np.arange(row.size)[:, None, None]
    level = (grey[n, y, x] * (1 - a) + grey[n, y, x + 1] * a) * (1 - b)
    level += (grey[n, y + 1, x] * (1 - a) + grey[n, y + 1, x + 1] * a) * b
    paper, contrast = seen.paper[row, column], seen.hole_contrast[row, column]
    return np.asarray(sign * (level - paper[:, None, None]) / contrast[:, None, None])


@dataclass(frozen=True, slots=True, eq=False)
class Pin:
    """What the holes of one track are like when they are whole; lengths in grid steps.

    Attributes:
        area: their area over that of the strip's holes, and its scatter.
        stretch: as in Openings, and its scatter.
        centre: where they lie in their windows, u + iv.
    """

    area: float
    area_scatter: float
    stretch: complex
    stretch_scatter: float
    centre: complex


NOMINAL = Pin(1.0, AREA_FLOOR, 0j, STRETCH_FLOOR, 0j)


def pin_of(seen: Openings, column: int, strip: Pin | None = None) -> Pin | None:
    """Return what whole holes of a track are like, from its round ones; the strip's where it has too few.

    A pin that is small but cuts clean is judged against itself. One that never cuts a round hole is not.
    """
    share, stretch = seen.share[:, column], seen.stretch[:, column]
    round_ = (np.abs(stretch) < ROUND_BELOW) & (seen.spoilt[:, column] < SPOILT_FROM) & seen.inside[:, column]
    round_ &= (share > SMALLEST_PIN) & (share < LARGEST_PIN)
    if round_.sum() < FEWEST_ROUND:
        return strip
    area = float(np.median(share[round_]))
    usual = complex(np.median(stretch[round_].real), np.median(stretch[round_].imag))
    centre = complex(np.median(seen.u[round_, column]), np.median(seen.v[round_, column]))
    area_scatter = 1.4826 * float(np.median(np.abs(share[round_] - area)))
    stretch_scatter = float(np.median(np.abs(stretch[round_] - usual))) / 1.18  # median of a Rayleigh distribution
    return Pin(area, max(area_scatter, AREA_FLOOR), usual, max(stretch_scatter, STRETCH_FLOOR), centre)


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """What stands at every position; all shapes (rows, 7), track steps -3 to 3.

    Attributes:
        state: HoleState; feed holes are left absent.
        share: open area over that of a whole hole of the track.
        marked: whether writing or dirt may hide a hole there, or stand for one.
        shown: openings of a smaller share drown in the noise of the paper.
    """

    state: np.ndarray
    share: FloatArray
    marked: BoolArray
    shown: float


def is_punched(state: np.ndarray) -> BoolArray:
    """Return where a hole counts as punched."""
    return np.asarray((state == HoleState.CLEAN) | (state == HoleState.PARTIAL), np.bool_)


def judge_holes(windows: Windows, seen: Openings, moved: Points, stretched: FloatArray, *, light: bool) -> Judged:
    """Judge every position.

    Args:
        windows: as cut.
        seen: what they show; centres from the grid.
        moved: shape (rows, 7), where the grid puts the holes now, in the windows: steps along + i steps across.
        stretched: shape (rows, 7), how long a step along is there against the window's own; 1 on flat, straight tape.
        light: whether holes are lighter than the paper.
    """
    # a curl makes every hole shorter with the steps; that is neither a cut nor a small pin
    seen = replace(seen, share=seen.share / stretched, stretch=seen.stretch - (stretched**2 - 1))
    code = [column for column in range(seen.share.shape[1]) if column != FEED]
    strip = _strip_pin(seen, code)
    pins = [pin_of(seen, column, strip) or strip or NOMINAL for column in range(seen.share.shape[1])]
    share, whole = np.zeros_like(seen.share), np.zeros(seen.share.shape, bool)
    for column in code:
        share[:, column] = seen.share[:, column] / pins[column].area
        whole[:, column] = _whole(share[:, column], seen.stretch[:, column], pins[column])
    radius = np.sqrt(seen.clean_area / np.pi * np.array([pin.area for pin in pins]))
    centre = moved + np.array([pin.centre for pin in pins])

    def polar(where: tuple[IntArray, IntArray]) -> FloatArray:
        return _polar(windows, seen, where, centre[where], radius[where[1]], 1.0 if light else -1.0)

    spoilt = seen.spoilt > SPOILT_FROM
    usable = seen.inside.copy()
    usable[:, FEED] = False
    blur = _blur(polar(_some(usable & whole & ~spoilt)))
    noise = _noise(polar(_some(usable & (share < DOUBTFUL_FROM / 2) & ~spoilt)))
    look = _where(usable & ~(whole & ~spoilt) & ((share > DOUBTFUL_FROM / 2) | (seen.rim > RIM_SEEN)))
    cut, left, there = fit_cut_discs(polar(look), blur)
    misfit, model = np.zeros_like(share), share.copy()
    misfit[look] = np.maximum(left - noise, 0) / np.maximum(there - noise, 1e-6)
    model[look] = cut
    shown = max(DOUBTFUL_FROM, SHOWN_SIGMAS * _scatter(share[usable & (np.abs(share) < EMPTY_BELOW) & ~spoilt]))
    return _judged(seen, share, model, misfit, whole & usable, spoilt, shown)


def _where(mask: BoolArray) -> tuple[IntArray, IntArray]:
    row, column = np.nonzero(mask)
    return row, column


def _some(mask: BoolArray) -> tuple[IntArray, IntArray]:
    """Return MOST_SAMPLES of the positions, evenly spread."""
    row, column = _where(mask)
    step = max(1, row.size // MOST_SAMPLES)
    return row[::step], column[::step]


def _blur(polar: FloatArray) -> float:
    """Return the width of the edge of whole holes, in radii; a normal edge has sqrt(pi) times int o (1 - o) dr."""
    if not polar.shape[0]:
        return USUAL_BLUR
    profile = polar.mean(axis=(0, 2))
    near = RINGS > NEAR_EDGE
    return float(np.sqrt(np.pi) * np.maximum(profile * (1 - profile), 0)[near].sum() * RING_STEP)


def _noise(polar: FloatArray) -> float:
    """Return the mean square of what plain paper shows, as `fit_cut_discs` counts it."""
    if not polar.shape[0]:
        return 0.0
    return float(np.median((2 * RINGS[:, None] * RING_STEP / ANGLES * polar**2).sum(axis=(1, 2))))


def _scatter(values: FloatArray) -> float:
    """Return the standard deviation of most of the values (by the median distance from their median)."""
    return 1.4826 * float(np.median(np.abs(values - np.median(values)))) if values.size else 0.0


def _judged(
    seen: Openings,
    share: FloatArray,
    model: FloatArray,
    misfit: FloatArray,
    whole: BoolArray,
    spoilt: BoolArray,
    shown: float,
) -> Judged:
    r"""Decide; what the model explains by the model, the rest by how much of a hole's outline is seen.

    Picture:
    open (of a whole hole)    the model leaves                     then
    2 to 14 %                 less than 0.4 (0.6 below 4 %)        doubtful: 2 may be 3
    14 % and more             less than 0.15                       punched, in part
                              0.15 to 0.25                         punched, in part, and marked
    14 % and more             more; outline 25 % or middle full    punched, in part; marked below 55 % of outline
                              more; outline 15 %                   doubtful: a hole may hide
    less than 2 %             any                                  absent
    """
    open_ = np.where(spoilt, np.minimum(share, model), share)
    cut = (misfit < MARKED_FROM) & (open_ >= PUNCHED_FROM)
    tiny = share < TOO_SMALL_TO_COMPARE
    hint = (misfit < np.where(tiny, DOUBT_IF_TINY, DOUBT_BELOW)) & (open_ >= shown) & (open_ < PUNCHED_FROM)
    hint &= tiny | (model > LIKE_MODEL * share)
    outline = seen.rim > np.where(spoilt, RIM_IF_SPOILT, RIM_FROM)
    full = seen.inner > INNER_FULL
    other = (misfit >= MARKED_FROM) & (share >= PUNCHED_FROM)
    # dirt beside a whole hole spoils area and shape, not the outline
    whole = whole | (share >= CUT_BELOW) & (misfit >= SURE_BELOW) & (seen.rim > RIM_WHOLE)
    punched = whole | cut | (other & (outline | full))
    round_ = (model >= CUT_BELOW) | (share >= CUT_BELOW) & (seen.inner > INNER_WHOLE)
    clean = punched & np.where(spoilt, full & round_, whole)
    hidden = ~punched & seen.inside & (other & ((seen.rim > RIM_MAYBE) | spoilt & (share >= OPEN_MAYBE)) | hint)
    alone = punched & ~clean & (misfit >= SURE_BELOW) & (seen.rim < np.where(spoilt, RIM_SURE, RIM_CUT))
    alone |= punched & ~clean & (misfit >= SURE_BELOW) & (misfit < MARKED_FROM)
    state = np.full(share.shape, HoleState.ABSENT, object)
    state[hidden], state[punched], state[clean] = HoleState.DOUBTFUL, HoleState.PARTIAL, HoleState.CLEAN
    state[:, FEED], hidden[:, FEED], alone[:, FEED] = HoleState.ABSENT, False, False
    return Judged(state, np.clip(share, 0, 1), hidden | alone, shown)


def _strip_pin(seen: Openings, code: list[int]) -> Pin | None:
    pins = [pin for column in code if (pin := pin_of(seen, column)) is not None]
    if not pins:
        return None
    return Pin(
        float(np.median([pin.area for pin in pins])),
        max(pin.area_scatter for pin in pins),
        complex(np.median([pin.stretch.real for pin in pins]), np.median([pin.stretch.imag for pin in pins])),
        max(pin.stretch_scatter for pin in pins),
        0j,
    )


def _whole(share: FloatArray, stretch: Points, pin: Pin) -> BoolArray:
    """Return which holes are whole, shape (rows,): large enough, and not both too small and cut for their track."""
    less = (1 - share) > SIGMAS * pin.area_scatter / pin.area
    cut = np.abs(stretch - pin.stretch) > SIGMAS * pin.stretch_scatter
    return np.asarray((share >= CUT_BELOW) & ~((share < WHOLE_FROM) & less & cut))
