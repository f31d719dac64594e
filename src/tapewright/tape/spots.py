r"""Spots: every small round patch that is darker, or lighter, than what lies around it.

The threshold is local: midway between the paper (the median within a window a little wider than a hole) and the
darkest, or lightest, level within that window. So shade and paper of any colour do not matter, nor does black
writing beside light holes; where the range is no more than noise there is no spot.

    grey  ----.      .----------.      .----    paper
               \    /            \    /
      mid  - - -x--x- - - - - - - x--x- -       half way: the outline of the spot
                 \/                \/           hole
"""

from dataclasses import dataclass

import cv2
import numpy as np

from tapewright.pictures.picture import FloatArray, GreyArray, Points

#: Window for paper and range, in pixels of the level: wider than a code hole at a pitch of 25 pixels.
WINDOW_PX = 25
SMALLEST_PX, LARGEST_PX = 2.2, 26.0


@dataclass(frozen=True, slots=True, eq=False)
class Spots:
    """Round patches of one kind.

    Attributes:
        z: shape (n,), centres x + iy, pixels.
        diameter: shape (n,), diameter of the circle of the same area, pixels.
    """

    z: Points
    diameter: FloatArray


def noise_level(grey: GreyArray) -> float:
    """Return the standard deviation of the pixel noise, by the median of second differences: edges do not count."""
    step = max(1, grey.shape[0] // 400)
    rows = grey[::step].astype(np.int16)
    if rows.shape[1] < 5:
        return 0.0
    second = np.abs(rows[:, :-4] - 2 * rows[:, 2:-2] + rows[:, 4:])
    return float(np.median(second) / 0.6745 / np.sqrt(6.0))


def local_masks(grey: GreyArray) -> tuple[GreyArray, GreyArray]:
    """Return the masks (0 or 255) of what is darker and what is lighter than half way from the paper to the extreme."""
    smooth = np.asarray(cv2.GaussianBlur(grey, (0, 0), 0.7), np.uint8)
    paper = _paper(smooth)
    window = cv2.getStructuringElement(cv2.MORPH_RECT, (WINDOW_PX, WINDOW_PX))
    floor = max(5.0, 3.5 * noise_level(grey))
    depth = np.asarray(cv2.subtract(paper, smooth), np.uint8)
    height = np.asarray(cv2.subtract(smooth, paper), np.uint8)
    return _beyond_half(depth, window, floor), _beyond_half(height, window, floor)


def _paper(smooth: GreyArray) -> GreyArray:
    """Return the median over about a window: on tape that is the paper, since holes take less than half of it.

    Taken on every third pixel, which is three times three times quicker and as good.
    """
    few = np.ascontiguousarray(smooth[::3, ::3])
    median = cv2.medianBlur(few, WINDOW_PX // 3 | 1)
    return np.asarray(cv2.resize(median, smooth.shape[::-1], interpolation=cv2.INTER_LINEAR), np.uint8)


def _beyond_half(off: GreyArray, window: cv2.typing.MatLike, floor: float) -> GreyArray:
    """Return where the distance from the paper is over half of the largest within the window, if over `floor`."""
    half = cv2.convertScaleAbs(cv2.blur(cv2.dilate(off, window), (9, 9)), alpha=0.5)
    half = cv2.max(half, np.full_like(half, int(np.ceil(floor / 2))))
    return np.asarray(cv2.compare(off, half, cv2.CMP_GT), np.uint8)


def spots_in(mask: GreyArray) -> Spots:
    """Return the patches of a mask that are about as wide as high and fill their box about as a disc does (pi / 4)."""
    _, _, stats, centres = cv2.connectedComponentsWithStats(mask, connectivity=4, ltype=cv2.CV_32S)
    left, top = stats[1:, cv2.CC_STAT_LEFT], stats[1:, cv2.CC_STAT_TOP]
    width, height = stats[1:, cv2.CC_STAT_WIDTH].astype(float), stats[1:, cv2.CC_STAT_HEIGHT].astype(float)
    area = stats[1:, cv2.CC_STAT_AREA].astype(float)
    diameter = np.sqrt(4 * area / np.pi)
    inside = (left > 0) & (top > 0) & (left + width < mask.shape[1]) & (top + height < mask.shape[0])
    # a disc of few pixels can be anything between a plus sign and a square
    fill = area / (width * height)
    round_ = (np.minimum(width, height) > 0.6 * np.maximum(width, height) - 0.5) & (fill > 0.55)
    good = inside & round_ & (diameter > SMALLEST_PX) & (diameter < LARGEST_PX)
    return Spots(centres[1:][good] @ np.array([1, 1j]), diameter[good])
