r"""Adjusters of the practice machine: screws and readings with a known truth.

Picture (what a turn does, truth):

    screw --> [play: the part stands still for a while after a reversal] --> part
    part  --> [reading = base + slopes . way + bends . way^2 / 2]  --> truth
    truth --> [gauge: noise, then steps of 0.02 mm seen as an interval] --> what the restorer writes down

Every random draw comes from a generator that the caller seeds.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class AdjusterTruth:
    """The truth of one mechanism with K screws and J readings.

    Attributes:
        base: shape (J,), readings with every part at zero.
        slopes: shape (J, K), reading per screw unit.
        bends: shape (J, K), change of slope per screw unit.
        play: shape (K,), free play, screw units.
        noise: shape (J,), standard deviation of a reading.
        gauge_step: steps the gauge knows, in reading units; 0 for a gauge that gives numbers.
        lock_shift: shape (J,), standard deviation of what locking moves.
    """

    base: FloatArray
    slopes: FloatArray
    bends: FloatArray
    play: FloatArray
    noise: FloatArray
    gauge_step: float
    lock_shift: FloatArray


class Adjusters:
    """A mechanism in one's hands: turn, look."""

    def __init__(self, truth: AdjusterTruth, rng: np.random.Generator, start: FloatArray | None = None) -> None:
        K = truth.slopes.shape[1]
        self.truth, self._rng = truth, rng
        self.screws: FloatArray = np.zeros(K) if start is None else np.array(start, dtype=float)
        # nobody knows on which side of its play a part was left
        self._parts = self.screws + truth.play * rng.uniform(-0.5, 0.5, K)
        self._locked_at = truth.lock_shift * rng.standard_normal(len(truth.base))

    def turn(self, change: FloatArray) -> None:
        """Turn every screw by `change`; a part follows only when its play is used up."""
        self.screws = self.screws + change
        half = self.truth.play / 2
        self._parts = np.minimum(np.maximum(self._parts, self.screws - half), self.screws + half)
        self._locked_at = self.truth.lock_shift * self._rng.standard_normal(len(self.truth.base))

    def true_readings(self) -> FloatArray:
        """The truth, shape (J,), which no gauge tells."""
        truth = self.truth
        return truth.base + truth.slopes @ self._parts + truth.bends @ (self._parts**2) / 2 + self._locked_at

    def look(self) -> list[tuple[float, float]]:
        """Read every gauge: (low, high) each; the two are equal when the gauge gives a number."""
        seen = self.true_readings() + self.truth.noise * self._rng.standard_normal(len(self.truth.base))
        step = self.truth.gauge_step
        if step <= 0:
            return [(float(v), float(v)) for v in seen]
        lower = np.floor(seen / step)
        return [(float(round(n * step, 9)), float(round((n + 1) * step, 9))) for n in lower]
