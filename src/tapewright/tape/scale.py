"""How many pixels are a millimetre, and how well that is known.

given       the owner measured it (a steel rule in the scan): within +/- 0.1 %, rectangular
dpi tag     what the file says of itself: within +/- 0.5 % of the truth for a scanner, rectangular
tape width  both edges found, 17.46 mm +/- 0.08 mm apart, rectangular
track grid  the die's tracks, 2.54 mm apart: when nothing else is there; taken as true to +/- 0.5 %

The bounds are from memory or common practice (docs/decisions/0041). A tag that would make the tracks wrong by more
than a twentieth is not believed: many programs write 72 or 96 whatever the picture is.
"""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from tapewright.number import Reading
from tapewright.reference.five_unit_tape import GRID_MM, WIDTH_MM, WIDTH_TOLERANCE_MM
from tapewright.tape.grid import Grid

MM_PER_INCH = 25.4
RECTANGULAR = float(np.sqrt(3.0))
GIVEN_HALF_WIDTH, TAG_HALF_WIDTH, GRID_HALF_WIDTH = 0.001, 0.005, 0.005
BELIEVED_WITHIN = 0.05
#: Rows and tracks should be spaced alike; scanners are remembered to be out by up to half a per cent.
AXES_FROM_PERCENT = 0.5


ScaleSource = Literal["dpi tag", "tape width", "given", "track grid"]


@dataclass(frozen=True, slots=True)
class Scale:
    """Pixels for a millimetre.

    Attributes:
        px_per_mm: with its uncertainty.
        source: "given", "dpi tag", "tape width" or "track grid".
        notes: what was not believed, and why.
    """

    px_per_mm: Reading
    source: ScaleSource
    notes: tuple[str, ...] = ()

    @property
    def value(self) -> float:
        """The estimate, px/mm."""
        return float(self.px_per_mm.value or 0.0)

    @property
    def relative_u(self) -> float:
        """Relative standard uncertainty."""
        return float(self.px_per_mm.u or 0.0) / self.value

    def less_sure(self, relative_u: float) -> "Scale":
        """Return the same scale with this relative standard uncertainty on top."""
        u = self.value * float(np.hypot(self.relative_u, relative_u))
        return replace(self, px_per_mm=self.px_per_mm.but(u=u))


def find_scale(
    strips: list[Grid], *, dpi: tuple[float, float] | None, given_dpi: float | None, width_px: Reading | None
) -> Scale:
    """Choose the best scale at hand; `width_px` is the measured tape width in pixels, None when no edges were seen."""
    grid = float(np.median(np.concatenate([np.abs(strip.across) for strip in strips]))) / GRID_MM
    if given_dpi:
        return _scale(given_dpi / MM_PER_INCH, GIVEN_HALF_WIDTH, "given", "given by the user", _axis_notes(strips))
    notes: tuple[str, ...] = ()
    if dpi:
        tag = float(np.sqrt(dpi[0] * dpi[1])) / MM_PER_INCH
        if abs(tag / grid - 1) < BELIEVED_WITHIN:
            odd = (*_axis_notes(strips), *_width_notes(tag, width_px))
            return _scale(tag, TAG_HALF_WIDTH, "dpi tag", "the file's own resolution", odd)
        notes = (f"The file says {tag * MM_PER_INCH:.0f} dpi; the tracks of the tape say {grid * MM_PER_INCH:.0f}. "
                 "The file is not believed.",)  # fmt: skip
    if width_px is not None and width_px.value and width_px.u is not None:
        value = width_px.value / WIDTH_MM
        if abs(value / grid - 1) < BELIEVED_WITHIN:
            u = value * float(np.hypot(WIDTH_TOLERANCE_MM / RECTANGULAR / WIDTH_MM, width_px.u / width_px.value))
            return Scale(Reading(value, u, "px/mm", width_px.n, "tape width 17.46 mm"), "tape width", notes)
    return _scale(grid, GRID_HALF_WIDTH, "track grid", "track spacing 2.54 mm", notes)


def _axis_notes(strips: list[Grid]) -> tuple[str, ...]:
    """Suspect the scanner's axes when rows and tracks, which should be alike, are not spaced alike."""
    along = float(np.median(np.concatenate([np.abs(strip.along) for strip in strips])))
    across = float(np.median(np.concatenate([np.abs(strip.across) for strip in strips])))
    off = 100 * (along / across - 1)
    if abs(off) < AXES_FROM_PERCENT:
        return ()
    return (f"Rows lie {abs(off):.1f} % {'wider' if off > 0 else 'closer'} than tracks: the feed, or one axis of the "
            "scanner. Scan the tape again turned by a right angle; what turns with it is the feed.",)  # fmt: skip


def _width_notes(px_per_mm: float, width_px: Reading | None) -> tuple[str, ...]:
    """Suspect the file's resolution when the tape's width says another one."""
    if width_px is None or not width_px.value:
        return ()
    width_mm = width_px.value / px_per_mm
    if abs(width_mm - WIDTH_MM) < WIDTH_TOLERANCE_MM + 0.01 * WIDTH_MM:
        return ()
    return (f"By the file's resolution the tape is {width_mm:.2f} mm wide, not {WIDTH_MM}: the resolution or the tape "
            "is not what it says. Measure the scanner against a steel rule, and give --dpi.",)  # fmt: skip


def _scale(value: float, half_width: float, source: ScaleSource, how: str, notes: tuple[str, ...] = ()) -> Scale:
    return Scale(Reading(value, value * half_width / RECTANGULAR, "px/mm", how=how), source, notes)
