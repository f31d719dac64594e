r"""A tape laid straight: where each place of the even grid lies in the picture.

Picture (r = row, k = steps across from the feed row; the tape runs to the right, track 5 downwards):

    k = -2   track 1   o   o       o
    k = -1   track 2       o   o
    k =  0   feed      .   .   .   .      z(r, k) = c(r) + k C(r)
    k = +1   track 3   o       o
    k = +3   track 5   o   o       o      r = 0, 1, 2 ...

c is the feed row with its single steps smoothed away, so that a short or a long step of the feed can be seen against
the even grid instead of being hidden by it. C is one step across, smoothed the same way.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

Points = npt.NDArray[np.complex128]

#: Steps across from the feed row to each track: the feed holes lie between tracks 2 and 3.
STEPS = {1: -2, 2: -1, 3: 1, 4: 2, 5: 3}
FIRST_STEP, LAST_STEP = -3.0, 4.0
#: Rows on either side over which single steps are smoothed.
REACH = 12


@dataclass(frozen=True, slots=True, eq=False)
class StraightGrid:
    """The even grid of one strip.

    Attributes:
        centre: shape (n,), c of each row, complex pixels.
        across: shape (n,), C of each row.
    """

    centre: Points
    across: Points

    def at(self, row: npt.NDArray[np.float64], step: npt.NDArray[np.float64]) -> Points:
        """Return the places in the picture; beyond the ends the grid goes on as it ended. Shapes go together."""
        n = self.centre.size
        known = np.arange(n, dtype=float)
        inside = np.clip(row, 0, n - 1)
        out = np.interp(inside, known, self.centre.real) + 1j * np.interp(inside, known, self.centre.imag)
        ahead = np.where(row < 0, self.centre[1] - self.centre[0], self.centre[-1] - self.centre[-2])
        across = np.interp(inside, known, self.across.real) + 1j * np.interp(inside, known, self.across.imag)
        return np.asarray(out + (row - inside) * ahead + step * across)


def straight_grid(rows: list[Mapping[str, Any]]) -> StraightGrid:
    """Fit the even grid to the rows of a strip; at least two rows."""
    feed = np.array([complex(row["x_px"], row["y_px"]) for row in rows], np.complex128)
    span = np.array([_at(row, 5) - _at(row, 1) for row in rows], np.complex128)
    return StraightGrid(smooth(feed), smooth(span / (STEPS[5] - STEPS[1])))


def smooth(values: Points) -> Points:
    """Return the running mean over REACH values on either side; beyond the ends they go on as mirrored through them."""
    reach = min(REACH, values.size - 1)
    padded = np.pad(values, reach, mode="reflect", reflect_type="odd")
    return np.convolve(padded, np.full(2 * reach + 1, 1 / (2 * reach + 1)), mode="valid")


def _at(row: Mapping[str, Any], track: int) -> complex:
    hole = row["holes"][track - 1]
    return complex(hole["x_px"], hole["y_px"])
