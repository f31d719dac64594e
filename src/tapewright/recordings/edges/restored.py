r"""The line's two levels, put back from what AC coupling left of them (quantised feedback).

Picture (A is the height of a step):

    recorded y, and the       |\   .     the forecast is what y would do without a further step;
    forecast of it            |  `-.`--..___       forecast
                              |     |`.            where y departs from it by more than half a step
                              |     |_ `--- y      there was an edge: the forecast takes the step along

    restored = level + (y - forecast): flat levels again, noise and hum as recorded, each step where it was

Levels decided so far are free of noise, so nothing piles up: a doubt dies away as fast as the coupling forgets. The
idea is the baseline restoration by quantised feedback of telegraph regenerators (from memory).
"""

import numpy as np
import numpy.typing as npt

from tapewright.recordings.capture import Samples
from tapewright.recordings.edges.coupling import Coupling

FloatArray = npt.NDArray[np.float64]

#: a step counts when the signal departs from the forecast by this part of a step's height
DEPARTURE = 0.6
#: a step of which the recorder clips off more than the rest is taken for noise
LEAST_OF_A_STEP = 0.2
_WINDOW = 512
_TAIL = 256


class RestoreStream:
    """Feed AC-coupled samples in pieces of any size; get restored ones, low = 0, high = `step`.

    Args:
        coupling: the high-pass.
        step: height of a step, in the units of the samples.
        offset: what the samples are when nothing has happened for long.
        rate_hz: samples per second.
        starts_high: level at the first sample; None to find it from the first step (`starts_high` then tells; the
            samples before that step come out as if it had been low).
        rails: lowest and highest sample the recorder can give: beyond them it clips.
    """

    def __init__(
        self,
        coupling: Coupling,
        *,
        step: float,
        offset: float,
        rate_hz: float,
        starts_high: bool | None,
        rails: tuple[float, float] = (-np.inf, np.inf),
    ) -> None:
        self.starts_high = starts_high
        self.steps_at: list[float] = []
        self.steps_up: list[bool] = []
        self.unpaired = 0
        self.fed = 0
        self._step, self._offset, self._rails = step, offset, rails
        self._poles, self._weights = coupling.poles_per_s / rate_hz, coupling.weights
        self._state: npt.NDArray[np.complex128] | None = None
        self._state_at = 0.0
        self._high = starts_high
        self._tail = np.empty(0)

    def feed(self, samples: Samples) -> FloatArray:
        """Return the restored samples, shape (n,)."""
        y = samples.astype(np.float64)
        out = np.empty(y.size)
        if self._state is None and y.size:
            self._state = np.zeros(self._poles.size, complex)
            self._state[0] = y[0] - self._offset
        first, window = 0, _WINDOW
        while first < y.size:
            last = min(y.size, first + window)
            away = self._departure(y[first:last], self.fed + first)
            entry = self._first_step(away)
            end = last if entry is None else first + entry
            out[first:end] = away[: end - first] + (self._step if self._high else 0.0)
            self._tail = np.concatenate([self._tail, away[: end - first]])[-_TAIL:]
            if entry is not None:
                self._take_step(float(away[entry]), self.fed + end)
                window = _WINDOW // 4
            else:
                window = min(window * 2, 1 << 16)
            first = end
        self.fed += y.size
        return out

    def _departure(self, y: FloatArray, number: int) -> FloatArray:
        """Return sample minus forecast for samples from `number` on, in such a way that a whole step is `step` high.

        Where the recorder clips, what is left of a step is stretched to its full height.
        """
        assert self._state is not None
        since = np.arange(number, number + y.size) - self._state_at
        sagged = (self._state[:, None] * np.exp(self._poles[:, None] * since)).sum(axis=0)
        forecast: FloatArray = sagged.real + self._offset
        if not np.isfinite(self._rails).any():
            return y - forecast
        low, high = self._rails
        seen = np.clip(forecast, low, high)
        away = y - seen
        after = np.clip(np.where(away > 0, forecast + self._step, forecast - self._step), low, high)
        left_of_step = np.maximum(np.abs(after - seen), LEAST_OF_A_STEP * self._step)
        # only the step that may come next: the other direction is no step, and stretched noise would look like one
        may_come = np.full(y.size, True) if self._high is None else (away > 0) != self._high
        stretched: FloatArray = np.where(may_come, away * (self._step / left_of_step), away)
        return stretched

    def _first_step(self, away: FloatArray) -> int | None:
        """Return the index of the first sample beyond a step, in whichever direction."""
        beyond = np.abs(away) > DEPARTURE * self._step
        k = int(np.argmax(beyond))
        return k if beyond[k] else None

    def _take_step(self, away: float, number: int) -> None:
        """Take the step whose first sample beyond is `number`, where the departure is `away`, into the forecast."""
        assert self._state is not None
        up = away > 0
        if self._high is None:
            self.starts_high = not up
        elif self._high == up:
            self.unpaired += 1
        self._high = up
        at = number - self._since_half(abs(away), up)
        self._state = self._state * np.exp(self._poles * (at - self._state_at))
        self._state = self._state + (self._step if up else -self._step) * self._weights
        self._state_at = at
        self.steps_at.append(at)
        self.steps_up.append(up)
        # seen from the new level, what has been kept lies a step away
        self._tail = self._tail - (self._step if up else -self._step)

    def _since_half(self, away: float, up: bool) -> float:
        """Return how many samples ago the departure passed half a step."""
        tail = (self._tail if up else -self._tail)[::-1]
        half = self._step / 2
        below = np.flatnonzero(tail < half)
        if not below.size:
            return float(tail.size)
        k = int(below[0])
        after = away if k == 0 else float(tail[k - 1])
        return k + (after - half) / (after - float(tail[k]))
