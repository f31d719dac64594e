"""A picture as the core sees it: grey levels, and the same at smaller sizes.

Points in a picture are complex numbers x + iy in pixels, the centre of the first pixel at 0; turning a
direction by a right angle is then a multiplication by i. At a level of factor f the same point lies at
(z + c) f - c with c = (1 + i) / 2.
"""

from dataclasses import dataclass, field

import cv2
import numpy as np
import numpy.typing as npt

GreyArray = npt.NDArray[np.uint8]
Points = npt.NDArray[np.complex128]
FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

HALF_PIXEL = 0.5 + 0.5j


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """A decoded picture, upright.

    Attributes:
        pixels: shape (height, width) grey or (height, width, 3) blue-green-red, 0 to 255.
        dpi: dots per inch across and down as the file says, None when it does not.
    """

    pixels: GreyArray
    dpi: tuple[float, float] | None = None

    @property
    def height(self) -> int:
        """Height in pixels."""
        return int(self.pixels.shape[0])

    @property
    def width(self) -> int:
        """Width in pixels."""
        return int(self.pixels.shape[1])


@dataclass(slots=True, eq=False)
class Levels:
    """One grey picture at factors 2, 1, 1/2, 1/4 ...; each made when first asked for, from the next larger one."""

    grey: GreyArray
    _made: dict[float, GreyArray] = field(default_factory=dict)

    def at(self, factor: float) -> GreyArray:
        """Return the picture at `factor` (a power of two, at most 2)."""
        if factor == 1:
            return self.grey
        if factor not in self._made:
            larger = self.grey if factor > 1 else self.at(factor * 2)
            way = cv2.INTER_CUBIC if factor > 1 else cv2.INTER_AREA
            # an odd last row or column is left out: halving must not stretch
            height, width = larger.shape[0] // 2 * 2, larger.shape[1] // 2 * 2
            source = larger if factor > 1 else larger[:height, :width]
            size = (source.shape[1] * 2, source.shape[0] * 2) if factor > 1 else (width // 2, height // 2)
            self._made[factor] = np.asarray(cv2.resize(source, size, interpolation=way), np.uint8)
        return self._made[factor]

    def drop(self, factor: float) -> None:
        """Forget a level that is not needed any more."""
        self._made.pop(factor, None)


def to_level(points: Points, factor: float) -> Points:
    """Return points of the full picture in pixels of the level `factor`."""
    return (points + HALF_PIXEL) * factor - HALF_PIXEL


def from_level(points: Points, factor: float) -> Points:
    """Return points of the level `factor` in pixels of the full picture."""
    return (points + HALF_PIXEL) / factor - HALF_PIXEL
