"""The samples of one closing that are looked at."""

from dataclasses import dataclass

import numpy as np

from tapewright.coil.coil_recording import Closing, FloatArray, Prepared

#: averaged in blocks where a rise has more samples than this
SAMPLES_A_RISE = 120
LONGEST_RISES = 14
BEFORE = 12


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """The samples of one closing that are fitted.

    Attributes:
        times_s: shape (n,), from the first of them.
        current_a: shape (n,), averaged in blocks where the recording is finer than needed.
        noise_a: standard deviation of one of them.
        white_a: the part of it that differs from one to the next.
        coarse_a: an error of at most this may have any shape: the converter's staircase.
        alike: so many in a row share that error.
        step_s: their interval.
        skip: how many lie before the rise.
        begin_s: time of the first in the recording.
    """

    times_s: FloatArray
    current_a: FloatArray
    noise_a: float
    white_a: float
    coarse_a: float
    alike: float
    step_s: float
    skip: int
    begin_s: float


def window_of(prepared: Prepared, closing: Closing) -> Window:
    """Cut one closing out: from a little before the rise to where the current is steady."""
    first = max(closing.begin, closing.rise - BEFORE)
    piece = prepared.current_a[first : closing.off + 1]
    top = float(np.median(piece[-max(4, piece.size // 4) :]))
    reached = np.flatnonzero(piece > 0.63 * top)
    rise = max(int(reached[0]) - (closing.rise - first), 1) if reached.size else piece.size
    width = max(1, rise // SAMPLES_A_RISE)
    if width > 1:
        first = max(closing.begin, closing.rise - BEFORE * width)
        piece = prepared.current_a[first : closing.off + 1]
    piece = piece[: (closing.rise - first) + LONGEST_RISES * max(rise, 6)]
    piece = piece[: piece.size // width * width].reshape(-1, width).mean(axis=1)
    step = width / prepared.rate_hz
    white, coarse = max(prepared.white_a / np.sqrt(width), 2e-5 * prepared.level_a), prepared.coarse_a
    alike = _alike(piece[(piece > 0.05 * top) & (piece < 0.95 * top)], coarse) if coarse > 0.3 * white else 1.0
    # the middle of each block is its time
    begin = (first + (width - 1) / 2) / prepared.rate_hz
    noise = float(np.hypot(white, coarse / np.sqrt(3)))
    skip = (closing.rise - first) // width
    return Window(np.arange(piece.size) * step, piece, noise, white, coarse, alike, step, skip, begin)


def _alike(rise: FloatArray, coarse: float) -> float:
    """Return how many samples of a rise lie on one tread of the staircase, on the average."""
    changes = int((np.abs(np.diff(rise)) > coarse).sum())
    return max(1.0, rise.size / max(changes, 1))


def guess_of(window: Window) -> FloatArray | None:
    """Return about when the switch closed, the level and L / R; None where the rise is too short."""
    top = float(np.median(window.current_a[-max(4, window.current_a.size // 4) :]))
    above = np.flatnonzero(window.current_a > 0.35 * top)
    if not above.size or above[0] - window.skip < 1 or window.times_s.size < 20:
        return None
    t0 = window.times_s[window.skip] - 0.5 * window.step_s
    tau = (window.times_s[above[0]] - t0) / 0.43
    return np.array([t0, top, max(tau, window.step_s)])
