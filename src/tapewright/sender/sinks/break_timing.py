r"""Key a line change by change, by the clock: a serial port's break condition is space, its rest is mark.

    due     |     |   |        |
    done     |    |    |        |        lateness of each = done - due, measured on the same clock

The computer sleeps until shortly before a change is due, then watches the clock. What remains is its jitter, measured
at every change and stated; what happens behind the call (a USB adapter's millisecond) it cannot see.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from tapewright.practice.line_signal import FloatArray, LineSignal

#: a sleep may be this late on a quiet computer
WAKE_EARLY_S = 0.003
LONGEST_SLEEP_S = 0.2


class Clock(Protocol):
    """A clock that can wait."""

    def now(self) -> float:
        """Return the time in seconds."""

    def sleep(self, seconds: float) -> None:
        """Wait at least so long."""


@dataclass(frozen=True, slots=True)
class ComputerClock:
    """The computer's own."""

    now: Callable[[], float] = field(default=time.perf_counter)
    sleep: Callable[[float], None] = field(default=time.sleep)


def key_line(
    line: LineSignal, set_space: Callable[[bool], None], clock: Clock, progress: Callable[[float], None]
) -> FloatArray:
    """Make every change of the line when it is due; give how late each was, shape (n,), seconds."""
    set_space(not line.starts_mark)
    begun = clock.now() - line.begin_s
    late = np.empty(line.times_s.size)
    for n, (due, mark) in enumerate(zip(line.times_s.tolist(), line.mark_after.tolist(), strict=True)):
        _wait(begun + due, clock)
        before = clock.now()
        set_space(not mark)
        late[n] = (before + clock.now()) / 2 - (begun + due)
        progress((n + 1) / late.size)
    _wait(begun + line.end_s, clock)
    return late


def _wait(until: float, clock: Clock) -> None:
    left = until - clock.now()
    while left > WAKE_EARLY_S:
        clock.sleep(min(left - WAKE_EARLY_S, LONGEST_SLEEP_S))
        left = until - clock.now()
    while clock.now() < until:
        pass
