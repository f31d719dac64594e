"""What a circuit did: stretches of time in one condition each, and what is asked of them."""

from dataclasses import dataclass

import numpy as np

from tapewright.coil.drive.circuit import CURRENT, TERMINALS, Condition, FloatArray, Output
from tapewright.coil.drive.solved import Solved, exponentials


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
