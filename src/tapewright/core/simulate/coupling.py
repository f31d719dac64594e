"""AC coupling: equal high-pass sections that take a step exactly as exp(-2 pi f t) does (step-invariant).

y[n] = x[n] - x[n-1] + exp(-2 pi f / rate) y[n-1]
"""

import numpy as np

from tapewright.core.simulate.spans import FloatArray


class Coupling:
    """AC coupling that remembers its state from piece to piece; before the recording it had settled."""

    def __init__(self, corner_hz: float, order: int, rate_hz: float, settled_at: float) -> None:
        """Couple a signal that stood at `settled_at` before; a corner of 0 couples it straight through."""
        self._keeps = float(np.exp(-2 * np.pi * corner_hz / rate_hz))
        # state of a section at rest: minus its input, which for all sections but the first is zero
        self._state = [np.array([-settled_at])] + [np.zeros(1) for _ in range(order - 1)]
        self._on = corner_hz > 0

    def through(self, values: FloatArray) -> FloatArray:
        """Send the next piece through."""
        if not self._on or not values.size:
            return values
        from scipy.signal import lfilter

        for section, state in enumerate(self._state):
            values, self._state[section] = lfilter([1.0, -1.0], [1.0, -self._keeps], values, zi=state)
        return values
