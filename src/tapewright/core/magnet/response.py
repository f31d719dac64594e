r"""Current against time, exactly: each condition of the circuit is solved by its matrix exponential.

Picture (| = the circuit goes over to another condition; between two bars the solution is exact):

    current      |    .------------|.
                 |  /              |  .
                 |/                |    `--|_____________
               closes            opens    diode off

x(t) = exp(M t) x(0). A guard is looked at on a grid that is fine where the circuit is fast (geometric from a
sixteenth of the fastest time constant, 24 points in a period of any ringing), then pinned down by halving steps.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from tapewright.core.magnet.circuit import CURRENT, TERMINALS, Condition, FloatArray, Output, Rows, rows_of
from tapewright.core.magnet.drive import Drive, Kind

HALVINGS = 34
POINTS_A_PERIOD = 24
GROWTH = 1.15
#: a mode that has decayed by this many time constants no longer asks for a fine grid
DEAD_AFTER = 30.0
TAYLOR_TERMS = 9
#: a step is not prepared over more periods of ringing than this; longer stretches are walked in several
PERIODS_A_STEP = 100
ROUNDING = 1e-9
#: a circuit that changes its condition more often than this between two switchings is not one we can solve
MOST_CHANGES = 10_000


def exponentials(matrix: FloatArray, times_s: FloatArray) -> FloatArray:
    """Give exp(matrix t) for each t, shape (n, 4, 4): Taylor series of a small step, then squaring."""
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
    """Give the times, shape (n,), from 0 to the horizon, at which guards are looked at."""
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
        """Give the state `duration_s` later (at most the horizon): a sum of halves."""
        left = duration_s
        for half, step in zip(self.halves_s, self.half_steps, strict=True):
            if half <= left:
                state = step @ state
                left -= half
        return state

    def pin_down(self, state: FloatArray, width_s: float, row: FloatArray) -> tuple[float, FloatArray]:
        """Give when `row . x` turns positive within `width_s`, and the state there."""
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
        """Give a voltage or current by its row, shape (n,)."""
        return np.asarray(self.states @ row)

    def next_above(self, row: FloatArray, after: int) -> int | None:
        """Give the first grid index from `after` on at which `row . x` is positive."""
        above = np.flatnonzero(self.along(row)[after:] > 0)
        return int(above[0]) + after if above.size else None

    def instant(self, row: FloatArray, index: int) -> float:
        """Give the time at which `row . x` turned positive before grid index `index`."""
        if index == 0:
            return self.start_s
        width = float(self.times_s[index] - self.times_s[index - 1])
        offset, _ = self.solved.pin_down(self.states[index - 1], width, row)
        return self.start_s + float(self.times_s[index - 1]) + offset

    def highest(self, row: FloatArray) -> float:
        """Give the highest value of `row . x` in the segment, between grid points too."""
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
        """Give the integral over the segment of two rows' product: power, squared current.

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
        """Give the states at any times inside the segment, shape (n, 4)."""
        steps = exponentials(self.solved.rows.matrix, times_s - self.start_s)
        return np.asarray(steps @ self.states[0])


@dataclass(slots=True)
class Bench:
    """A drive with its switch in our hand: close it, open it, wait; it hands back segments.

    Attributes:
        drive: what is driven.
        horizon_s: the longest single step the solution is prepared for.
    """

    drive: Drive
    horizon_s: float
    _solved: dict[Condition, Solved] = field(default_factory=dict)
    _scale: FloatArray = field(init=False)

    def __post_init__(self) -> None:
        volts = self.drive.supply.volts
        self._scale = np.array([self.drive.steady_a, volts, volts, 1.0])

    def at_rest(self) -> FloatArray:
        """Give the state after a long time with the switch open."""
        volts = self.drive.supply.volts
        part = self.drive.suppressor
        charged = part.kind is Kind.RC and part.across_contact
        return np.array([0.0, volts if charged else 0.0, volts, 1.0])

    def set_switch(self, state: FloatArray, output: Output, closed: bool) -> Condition:
        """Give the condition right after the switch has moved."""
        rings = self.drive.suppressor.kind is Kind.RC
        return Condition(closed, not closed and (rings or float(state[0]) > 0), output)

    def wait(self, state: FloatArray, condition: Condition, begin_s: float, end_s: float) -> Iterator[Segment]:
        """Give the segments from `begin_s` to `end_s` without moving the switch.

        Raises:
            ValueError: when the circuit changes its condition without end.
        """
        now = begin_s
        for _ in range(MOST_CHANGES):
            if now >= end_s:
                return
            segment, condition = self._step(state, condition, now, end_s)
            yield segment
            state, now = self._settled(segment.states[-1], condition), segment.end_s
        raise ValueError("the supply goes in and out of its limit without end")

    def _step(
        self, state: FloatArray, condition: Condition, now: float, end_s: float
    ) -> tuple[Segment, Condition]:
        solved = self._solve(condition)
        span = min(end_s - now, float(solved.times_s[-1]))
        n = int(np.searchsorted(solved.times_s, span, side="left"))
        states = np.empty((n + 1, 4))
        states[:n] = solved.steps[:n] @ state
        states[n] = solved.state_after(state, span)
        times = np.append(solved.times_s[:n], span)
        then = condition
        for guard in solved.rows.guards:
            row = guard.row - np.array([0, 0, 0, ROUNDING]) * float(np.abs(guard.row) @ self._scale)
            past = np.flatnonzero(states @ row > 0)
            if past.size:
                last = max(int(past[0]) - 1, 0)
                width = float(times[past[0]] - times[last])
                offset, there = solved.pin_down(states[last], width, row)
                times = np.append(times[: last + 1], times[last] + offset)
                states = np.vstack([states[: last + 1], there])
                then = guard.then
        stop = end_s if then == condition and span == end_s - now else now + float(times[-1])
        return Segment(now, stop, condition, solved, times, states), then

    def _settled(self, state: FloatArray, condition: Condition) -> FloatArray:
        """Set what a new condition holds fixed, free of rounding."""
        state = state.copy()
        if not (condition.closed or condition.conducting):
            state[0] = 0.0
        if condition.output is Output.HOLDS:
            state[2] = self.drive.supply.volts
        if condition.output is Output.DRAINED:
            state[2] = 0.0
        return state

    def _solve(self, condition: Condition) -> Solved:
        if condition not in self._solved:
            self._solved[condition] = Solved.of(self.drive, condition, self.horizon_s)
        return self._solved[condition]


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
        """Give coil current, coil, switch and terminal voltage at any times inside, each shape (n,)."""
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
        """Give the highest value of a row of `Rows` ("switch_v", "coil_v", "load_a", "switch_a") met anywhere."""
        return max(segment.highest(getattr(segment.solved.rows, which)) for segment in self.segments)


def run_schedule(
    bench: Bench,
    switchings: Sequence[tuple[float, bool]],
    end_s: float,
    *,
    start: FloatArray | None = None,
    output: Output = Output.HOLDS,
) -> Trace:
    """Move the switch as told and give the trace.

    Args:
        bench: the drive.
        switchings: (time, closed) in time order; the first at the beginning of the trace.
        end_s: when to stop.
        start: state at the first switching; None for rest after a long time open.
        output: what the supply does at the first switching.
    """
    state = bench.at_rest() if start is None else start
    segments: list[Segment] = []
    ends = [time for time, _ in switchings[1:]] + [end_s]
    for (begin, closed), end in zip(switchings, ends, strict=True):
        condition = bench.set_switch(state, output, closed)
        segments.extend(bench.wait(state, condition, begin, end))
        if segments:
            state, output = segments[-1].states[-1], segments[-1].condition.output
    return Trace(tuple(segments))

