r"""A line as a voltage with slow edges: the exact solution of one time constant each way.

Picture (rise towards mark, fall towards space; a pulse that is too short never gets there):

    target   ________|~~~~~~~~~~~~~|__________|~|______
    voltage  ________/-------------\__________/\_______

After change i the voltage runs from `begun_v[i]` towards `target_v[i]`:

    v(t) = target + (begun - target) exp(-(t - t_i) / tau)
"""

from dataclasses import dataclass
from functools import cache

import numpy as np

from tapewright.practice.line_signal import FloatArray, LineSignal

OVERSAMPLING = 8
#: half length of the band limit's impulse response, in samples
REACH = 16
#: after so many time constants an edge is over
SETTLED = 40


@dataclass(frozen=True, slots=True, eq=False)
class SlowLine:
    """The line as a voltage; all arrays have one entry for the beginning and one for each change.

    Attributes:
        times_s: when the stretch begins.
        target_v: where the voltage goes.
        begun_v: where it comes from: the level just before the change.
        tau_s: its time constant, 0 for a sudden change.
    """

    times_s: FloatArray
    target_v: FloatArray
    begun_v: FloatArray
    tau_s: FloatArray

    @classmethod
    def of(cls, line: LineSignal, mark_v: float, space_v: float, rise_s: float, fall_s: float) -> "SlowLine":
        """Make it from a line that had settled before it began."""
        marks = np.append(line.starts_mark, line.mark_after)
        target = np.where(marks, mark_v, space_v).astype(float)
        tau = np.where(marks, rise_s, fall_s).astype(float)
        times = np.append(line.begin_s, line.times_s)
        left = np.exp(-np.diff(times) / np.where(tau > 0, tau, 1.0)[:-1]) * (tau > 0)[:-1]
        begun, level = [float(target[0])], float(target[0])
        for aim, share in zip(target[:-1].tolist(), left.tolist(), strict=True):
            level = aim + (level - aim) * share
            begun.append(level)
        return cls(times, target, np.array(begun), tau)

    def crossings(self, threshold_v: float, end_s: float) -> FloatArray:
        """Return the true instants at which the voltage crosses the threshold before `end_s`."""
        target, begun, tau = self.target_v[1:], self.begun_v[1:], self.tau_s[1:]
        past = (target > threshold_v) != (begun > threshold_v)
        with np.errstate(divide="ignore", invalid="ignore"):
            wait = tau * np.log((target - begun) / (target - threshold_v))
        crossed = self.times_s[1:] + np.where(tau > 0, wait, 0.0)
        return np.asarray(crossed[past & (crossed < np.append(self.times_s[2:], end_s))])

    def on_grid(self, first_s: float, step_s: float, n: int) -> FloatArray:
        """Return the voltage at first_s + step_s * (0 .. n - 1), true time."""
        begin = np.ceil((self.times_s - first_s) / step_s - 1e-9)
        begin = np.clip(begin, 0, n).astype(int)
        begin[0] = 0
        lengths = np.diff(np.append(begin, n))
        volts = np.repeat(self.target_v, lengths)
        # only the first few time constants after a change differ from the target
        slow = np.minimum(lengths, np.ceil(SETTLED * self.tau_s / step_s).astype(int))
        which = np.repeat(np.arange(slow.size), slow)
        place = begin[which] + np.arange(which.size) - np.repeat(np.cumsum(slow) - slow, slow)
        passed = np.maximum(first_s + step_s * place - self.times_s[which], 0.0)
        volts[place] += (self.begun_v - self.target_v)[which] * np.exp(-passed / self.tau_s[which])
        return volts

    def band_limited(self, first_s: float, step_s: float, n: int) -> FloatArray:
        """Return the same, limited to half the sample rate as a sound card does it (linear phase, no delay)."""
        return self._filtered(first_s, step_s, n) if self.tau_s.any() else self._with_soft_steps(first_s, step_s, n)

    def _with_soft_steps(self, first_s: float, step_s: float, n: int) -> FloatArray:
        """Sudden changes only: put the band limit's own step in the place of each step, where it differs."""
        volts = self.on_grid(first_s, step_s, n)
        place = (self.times_s[1:] - first_s) / step_s
        near = (place > -REACH) & (place < n + REACH)
        jump, place = (self.target_v[1:] - self.begun_v[1:])[near], place[near]
        at = np.floor(place).astype(int)[:, None] + np.arange(-REACH, REACH + 2)
        passed = at - place[:, None]
        change = jump[:, None] * (np.interp(passed, *_soft_step()) - (passed >= -1e-9))
        inside = (at >= 0) & (at < n)
        np.add.at(volts, at[inside], change[inside])
        return volts

    def _filtered(self, first_s: float, step_s: float, n: int) -> FloatArray:
        """Slow edges: make the signal eight times as fine, filter, take every eighth."""
        from scipy.signal import upfirdn

        half = REACH * OVERSAMPLING
        begin_s, fine_s = first_s - REACH * step_s, step_s / OVERSAMPLING
        fine = self.on_grid(begin_s, fine_s, n * OVERSAMPLING + 2 * half)
        return np.asarray(upfirdn(_band_limit(), fine, down=OVERSAMPLING)[2 * REACH : 2 * REACH + n], dtype=float)


@cache
def _soft_step() -> tuple[FloatArray, FloatArray]:
    """Return the band limit's answer to a step: places in samples after the step, and the share reached."""
    reached = np.append(0.0, np.cumsum(_band_limit()))
    return (np.arange(reached.size) - REACH * OVERSAMPLING - 0.5) / OVERSAMPLING, reached


@cache
def _band_limit() -> FloatArray:
    from scipy.signal import firwin

    return np.asarray(firwin(2 * REACH * OVERSAMPLING + 1, 0.92 / OVERSAMPLING, window=("kaiser", 8.0)))
