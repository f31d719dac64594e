"""The practice machine's supply, with a motor on it."""

import numpy as np

from tapewright.errors import WrongUseError
from tapewright.practice.motor import PRACTICE_MOTORS, MotorOnBench

HALVINGS = 40


class PracticeSupply:
    """A supply and a motor that need no iron. Time passes only when it is told to."""

    def __init__(self, name: str, seed: int) -> None:
        """Choose the motor.

        Raises:
            WrongUseError: when there is none of that name.
        """
        if name not in PRACTICE_MOTORS:
            raise WrongUseError(f"--to practice:{name}: there are {', '.join(PRACTICE_MOTORS)}.")
        self.what = f"practice machine {name.capitalize()}"
        self.bench = MotorOnBench(PRACTICE_MOTORS[name], np.random.default_rng(seed))
        self._set_v, self._limit_a, self._on = 0.0, 0.0, False

    def set_limit(self, amps: float) -> None:
        """Set the current limit."""
        self._limit_a = amps

    def set_volts(self, volts: float) -> None:
        """Set the voltage."""
        self._set_v = volts
        self._feed()

    def switch(self, on: bool) -> None:
        """Switch the output."""
        self._on = on
        self._feed()

    def is_on(self) -> bool:
        """Return whether the output is on."""
        return self._on

    def get_limit(self) -> float:
        """Return the current limit set."""
        return self._limit_a

    def measure(self) -> tuple[float, float]:
        """Return volts and amperes."""
        return self.bench.volts, min(self.bench.amps, self._limit_a)

    def reopen(self) -> None:
        """Nothing is lost."""

    def close(self) -> None:
        """Nothing is held."""

    def _feed(self) -> None:
        self.bench.volts = self._limited(self._set_v) if self._on else 0.0

    def _limited(self, volts: float) -> float:
        """Return the voltage at which the motor takes no more than the limit, running steadily."""
        low, high = 0.0, volts
        if self.bench.motor.steady_rpm(volts)[1] <= self._limit_a:
            return volts
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            less = self.bench.motor.steady_rpm(middle)[1] <= self._limit_a
            low, high = (middle, high) if less else (low, middle)
        return low
