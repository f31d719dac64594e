r"""One condition of the circuit, solved exactly: x(t) = exp(M t) x(0).

Exponentials are kept for a grid of times, and for the horizon halved again and again; so any time is a sum of halves,
and an instant between two grid points is pinned down by them.
What a circuit did: a trace of segments, each a stretch of time in one condition.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.coil.drive.circuit import CURRENT, TERMINALS, Condition, FloatArray, Output, Rows, rows_of
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


@dataclass(frozen=True, slots=True, eq=False)
class Segment:
    """A stretch of time in one condition.

    Attributes:
        start_s: when it begins.
        end_s: when it ends.
        condition: which circuit held.
        solved: its solution.
        times_s: shape (n,), grid times after start_s, the end included.
        states: shape (n, 4), the states there.
    """

    start_s: float
    end_s: float
    condition: Condition
    solved: Solved
    times_s: FloatArray
    states: FloatArray

    def along(self, row: FloatArray) -> FloatArray:
        """Return a voltage or current by its row, shape (n,)."""
        return np.asarray(self.states @ row)

    def next_above(self, row: FloatArray, after: int) -> int | None:
        """Return the first grid index from `after` on at which `row . x` is positive."""
        above = np.flatnonzero(self.along(row)[after:] > 0)
        return int(above[0]) + after if above.size else None

    def instant(self, row: FloatArray, index: int) -> float:
        """Return the time at which `row . x` turned positive before grid index `index`."""
        if index == 0:
            return self.start_s
        width = float(self.times_s[index] - self.times_s[index - 1])
        offset, _ = self.solved.pin_down(self.states[index - 1], width, row)
        return self.start_s + float(self.times_s[index - 1]) + offset

    def highest(self, row: FloatArray) -> float:
        """Return the highest value of `row . x` in the segment, between grid points too."""
        values = self.along(row)
        best = int(values.argmax())
        falling = -(row @ self.solved.rows.matrix)
        slopes = self.along(falling)
        highest = float(values[best])
        for at in (best - 1, best):
            if 0 <= at < values.size - 1 and slopes[at] < 0 < slopes[at + 1]:
                width = float(self.times_s[at + 1] - self.times_s[at])
                highest = max(highest, float(row @ self.solved.pin_down(self.states[at], width, falling)[1]))
        return highest

    def integral(self, one: FloatArray, other: FloatArray) -> float:
        """Return the integral over the segment of two rows' product: power, squared current.

        Trapezium rule with end correction, exact to the fourth order of the step.
        """
        a, b = self.along(one), self.along(other)
        matrix = self.solved.rows.matrix
        slope = self.along(one @ matrix) * b + a * self.along(other @ matrix)
        step = np.diff(self.times_s)
        product = a * b
        corrected = step / 2 * (product[1:] + product[:-1]) - step**2 / 12 * np.diff(slope)
        return float(corrected.sum())

    def at(self, times_s: FloatArray) -> FloatArray:
        """Return the states at any times inside the segment, shape (n, 4)."""
        steps = exponentials(self.solved.rows.matrix, times_s - self.start_s)
        return np.asarray(steps @ self.states[0])


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """What happened, as segments without gaps.

    Attributes:
        segments: in time order.
    """

    segments: tuple[Segment, ...]

    @property
    def end(self) -> tuple[FloatArray, Output]:
        """State and supply at the end."""
        last = self.segments[-1]
        return last.states[-1], last.condition.output

    def sample(self, times_s: FloatArray) -> dict[str, FloatArray]:
        """Return coil current, coil, switch and terminal voltage at any times inside, each shape (n,)."""
        out = {name: np.zeros(times_s.size) for name in ("coil_a", "coil_v", "switch_v", "terminals_v", "load_a")}
        for number, segment in enumerate(self.segments):
            last = number == len(self.segments) - 1
            until = times_s <= segment.end_s if last else times_s < segment.end_s
            inside = (times_s >= segment.start_s) & until
            if inside.any():
                states = segment.at(times_s[inside])
                rows = segment.solved.rows
                named = {
                    "coil_a": CURRENT, "coil_v": rows.coil_v, "switch_v": rows.switch_v,
                    "terminals_v": TERMINALS, "load_a": rows.load_a,
                }  # fmt: skip
                for name, row in named.items():
                    out[name][inside] = states @ row
        return out

    def highest(self, which: str) -> float:
        """Return the highest value of a row of `Rows` ("switch_v", "coil_v", "load_a", "switch_a") met anywhere."""
        return max(segment.highest(getattr(segment.solved.rows, which)) for segment in self.segments)
