r"""One condition of the circuit, solved exactly: x(t) = exp(M t) x(0).

Exponentials are kept for a grid of times, and for the horizon halved again and again; so any time is a sum of halves,
and an instant between two grid points is pinned down by them.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.coil.drive.circuit import Condition, FloatArray, Rows, rows_of
from tapewright.coil.drive.drive import Drive

HALVINGS = 34
POINTS_A_PERIOD = 24
GROWTH = 1.15
#: a mode that has decayed by this many time constants no longer asks for a fine grid
DEAD_AFTER = 30.0
TAYLOR_TERMS = 9
#: a step is not prepared over more periods of ringing than this; longer stretches are walked in several
PERIODS_A_STEP = 100


def exponentials(matrix: FloatArray, times_s: FloatArray) -> FloatArray:
    """Return exp(matrix t) for each t, shape (n, 4, 4): Taylor series of a small step, then squaring."""
    size = max(float(np.abs(matrix).sum(axis=1).max()) * float(times_s.max(initial=0.0)), 1e-300)
    # balance first: volts and amperes differ by orders, the norm should not
    squarings = max(0, int(np.ceil(np.log2(size))) + 4)
    small = matrix[None] * (times_s / 2.0**squarings)[:, None, None]
    term = np.broadcast_to(np.eye(4), small.shape).copy()
    total = term.copy()
    for order in range(1, TAYLOR_TERMS + 1):
        term = term @ small / order
        total += term
    for _ in range(squarings):
        total = total @ total
    return total


def grid_for(matrix: FloatArray, horizon_s: float) -> FloatArray:
    """Return the times, shape (n,), from 0 to the horizon, at which guards are looked at."""
    modes = np.linalg.eigvals(matrix)
    fastest = float(np.abs(modes).max()) or 1.0 / horizon_s
    first = min(1.0 / (16 * fastest), horizon_s / 64)
    count = int(np.log(horizon_s / first) / np.log(GROWTH)) + 1
    pieces = [first * GROWTH ** np.arange(count), np.linspace(0.0, horizon_s, 65)]
    for mode in modes[np.abs(modes.imag) > 0]:
        step = 2 * np.pi / abs(mode.imag) / POINTS_A_PERIOD
        until = min(horizon_s, DEAD_AFTER / max(-mode.real, DEAD_AFTER / horizon_s))
        if 2 * step < until:
            pieces.append(np.linspace(0.0, until, int(until / step) + 2))
    times = np.unique(np.concatenate(pieces))
    return np.asarray(times[times <= horizon_s])


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """One condition with its exponentials ready.

    Attributes:
        rows: the linear circuit.
        times_s: shape (n,), the grid.
        steps: shape (n, 4, 4), exp(M t) on the grid.
        halves_s: shape (h,), the horizon halved again and again.
        half_steps: shape (h, 4, 4), exp(M t) of those.
    """

    rows: Rows
    times_s: FloatArray
    steps: FloatArray
    halves_s: FloatArray
    half_steps: FloatArray

    @classmethod
    def of(cls, drive: Drive, condition: Condition, horizon_s: float) -> "Solved":
        """Solve one condition of a drive."""
        rows = rows_of(drive, condition)
        fastest = float(np.abs(np.linalg.eigvals(rows.matrix).imag).max())
        if fastest > 0:
            horizon_s = min(horizon_s, PERIODS_A_STEP * 2 * np.pi / fastest)
        times = grid_for(rows.matrix, horizon_s)
        halves = np.asarray(horizon_s / 2.0 ** np.arange(HALVINGS), dtype=np.float64)
        steps = exponentials(rows.matrix, np.concatenate([times, halves]))
        return cls(rows, times, steps[: times.size], halves, steps[times.size :])

    def state_after(self, state: FloatArray, duration_s: float) -> FloatArray:
        """Return the state `duration_s` later (at most the horizon): a sum of halves."""
        left = duration_s
        for half, step in zip(self.halves_s, self.half_steps, strict=True):
            if half <= left:
                state = step @ state
                left -= half
        return state

    def pin_down(self, state: FloatArray, width_s: float, row: FloatArray) -> tuple[float, FloatArray]:
        """Return when `row . x` turns positive within `width_s`, and the state there."""
        at = 0.0
        for half, step in zip(self.halves_s, self.half_steps, strict=True):
            if at + half <= width_s:
                ahead = step @ state
                if float(row @ ahead) <= 0:
                    at, state = at + half, ahead
        # one step more, to the far side: just before it the next condition's guard would send it straight back
        return at + float(self.halves_s[-1]), self.half_steps[-1] @ state
