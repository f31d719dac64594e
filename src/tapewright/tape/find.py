"""Find the strips in a picture: which level, which of dark and light, which grey of a colour picture.

Small levels first, since they cost little: a level is good when its feed rows step 9 pixels or more, and the
next finer one is taken only when it finds more.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np

from tapewright.pictures.picture import GreyArray, Levels, Picture
from tapewright.tape.feed_row import FEWEST_ROWS, find_chains
from tapewright.tape.grid import Grid, lay_strips
from tapewright.tape.spots import local_masks, spots_in

#: Coarsest level: its longer side has at least this many pixels.
COARSEST_PX = 700
#: The finest level is twice the picture, if the picture has at most this many pixels.
DOUBLED_UP_TO_PX = 4_000_000
GOOD_PITCH_PX, BEST_PITCH_PX = 9.0, 12.5
#: Strips of one picture have about the same scale.
SCALES_WITHIN = 1.4


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """The strips and the grey picture in which they were found."""

    strips: list[Grid]
    levels: Levels

    @property
    def score(self) -> float:
        """Rows and code holes on their grid, less the rows without a feed hole, less something for every piece."""
        return sum(2.0 * float(s.found.sum()) - s.rows + 0.5 * s.matched - FEWEST_ROWS for s in self.strips)


def find_strips(picture: Picture) -> Found:
    """Return the strips of a picture, none when there is no feed row in it."""
    best: Found | None = None
    for grey in _greys(picture.pixels):
        found = _best_level(Levels(grey))
        if best is None or found.score > 1.1 * best.score:
            best = found
        if best.strips:
            break
    if best is None:
        raise ValueError("a picture has at least one channel")
    return best


def _greys(pixels: GreyArray) -> Iterator[GreyArray]:
    """Return the picture in grey, then in single colours: coloured paper on white may hide in the grey."""
    if pixels.ndim == 2:
        yield pixels
        return
    yield np.asarray(cv2.cvtColor(pixels, cv2.COLOR_BGR2GRAY), np.uint8)
    for channel in range(3):
        yield np.ascontiguousarray(pixels[:, :, channel])


def _best_level(levels: Levels) -> Found:
    best = Found([], levels)
    for factor in _factors(levels.grey):
        found = _at_level(levels, factor)
        better = found.score > 1.05 * best.score
        if better:
            best = found
        if factor < 0.5:
            levels.drop(factor * 4)
        fine = best.strips and min(strip.pitch_px for strip in best.strips) * factor
        whole = bool(best.strips) and min(float(strip.found.mean()) for strip in best.strips) > 0.98
        if fine and (fine >= BEST_PITCH_PX or (fine >= GOOD_PITCH_PX and (whole or not better))):
            break
    return best


def _factors(grey: GreyArray) -> list[float]:
    longest = max(grey.shape)
    factor = 1.0
    while longest * factor / 2 >= COARSEST_PX:
        factor /= 2
    factors = []
    while factor <= (2 if grey.size <= DOUBLED_UP_TO_PX else 1):
        factors.append(factor)
        factor *= 2
    return factors


def _at_level(levels: Levels, factor: float) -> Found:
    strips: list[Grid] = []
    for mask, light in zip(local_masks(levels.at(factor)), (False, True), strict=True):
        spots = spots_in(mask)
        if spots.z.size >= FEWEST_ROWS:
            strips += lay_strips(find_chains(spots), spots, factor, light=light)
    # a picture has its holes dark or light, not both
    kinds = [_alike([s for s in strips if s.light is light and _is_tape(s)]) for light in (False, True)]
    return max((Found(kind, levels) for kind in kinds), key=lambda found: found.score)


def _alike(strips: list[Grid]) -> list[Grid]:
    """Keep the strips of about the scale of the longest."""
    if not strips:
        return strips
    pitch = max(strips, key=lambda s: s.matched + s.rows).pitch_px
    return [s for s in strips if pitch / SCALES_WITHIN < s.pitch_px < pitch * SCALES_WITHIN]


def _is_tape(strip: Grid) -> bool:
    """Return whether the grid holds: code holes close to their places, or a long unbroken row of feed holes alone."""
    if strip.matched >= 4:
        return strip.residual < 0.09
    return strip.rows >= 20 and float(strip.found.mean()) > 0.85
