r"""Current against time: the switch is moved, and the circuit goes from condition to condition by itself.

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

from tapewright.coil.drive.circuit import Condition, FloatArray, Output
from tapewright.coil.drive.drive import Drive, Kind
from tapewright.coil.drive.solved import Segment, Solved, Trace

ROUNDING = 1e-9
#: a circuit that changes its condition more often than this between two switchings is not one we can solve
MOST_CHANGES = 10_000


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
        """Return the state after a long time with the switch open."""
        volts = self.drive.supply.volts
        part = self.drive.suppressor
        charged = part.kind is Kind.RC and part.across_contact
        return np.array([0.0, volts if charged else 0.0, volts, 1.0])

    def set_switch(self, state: FloatArray, output: Output, closed: bool) -> Condition:
        """Return the condition right after the switch has moved."""
        rings = self.drive.suppressor.kind is Kind.RC
        return Condition(closed, not closed and (rings or float(state[0]) > 0), output)

    def wait(self, state: FloatArray, condition: Condition, begin_s: float, end_s: float) -> Iterator[Segment]:
        """Return the segments from `begin_s` to `end_s` without moving the switch.

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
