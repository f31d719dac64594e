r"""What turns the cam: its speed, and how it wavers.

    speed over time:  v(t) = 1 + hunt sin(2 pi hunt_hz t + phase) - cold exp(-t / warms_in_s)

Cam events are laid out in motor time u (the time a steady motor would have needed) and brought to true time
by solving  u = integral of v from 0 to t.  A governor that hunts is slow and has nothing to do with the cam;
a cam or a shaft out of true repeats at the same angle of each turn:

    displacement at angle p units:  out_of_true_s sin(2 pi harmonic p / units per turn + angle)
"""

from dataclasses import dataclass

import numpy as np

from tapewright.core.simulate.spans import FloatArray

NEWTON_STEPS = 8


@dataclass(frozen=True, slots=True)
class Motor:
    """A motor with its governor, and the cam it turns.

    Attributes:
        unit_s: length of a unit at the warm, steady speed.
        hunt: largest relative deviation of the speed by the hunting governor, 0.005 = half a per cent.
        hunt_hz: how often it hunts a second.
        hunt_phase: phase at time 0, radians.
        cold: how much slower it runs when cold, relative; 0.01 = one per cent slow at time 0.
        warms_in_s: time constant of warming up.
        out_of_true_s: largest displacement of an instant by a cam or shaft out of true.
        harmonic: how often that displacement swings in a turn.
        angle: its phase at the start of the turn, radians.
    """

    unit_s: float
    hunt: float = 0.0
    hunt_hz: float = 1.0
    hunt_phase: float = 0.0
    cold: float = 0.0
    warms_in_s: float = 300.0
    out_of_true_s: float = 0.0
    harmonic: int = 1
    angle: float = 0.0

    def true_time_s(self, motor_time_s: FloatArray) -> FloatArray:
        """Bring motor time to true time (Newton's method; the speed never comes near zero)."""
        true = np.array(motor_time_s, dtype=float)
        if not self.hunt and not self.cold:
            return true
        for _ in range(NEWTON_STEPS):
            true -= (self._motor_time_s(true) - motor_time_s) / self._speed(true)
        return true

    def displaced_s(self, angle_units: float, units_per_turn: float) -> float:
        """Give the displacement of an instant at that angle of the turn, in seconds, late positive."""
        return self.out_of_true_s * float(np.sin(2 * np.pi * self.harmonic * angle_units / units_per_turn + self.angle))

    def _speed(self, t: FloatArray) -> FloatArray:
        hunting = self.hunt * np.sin(2 * np.pi * self.hunt_hz * t + self.hunt_phase)
        return np.asarray(1 + hunting - self.cold * np.exp(-t / self.warms_in_s))

    def _motor_time_s(self, t: FloatArray) -> FloatArray:
        turns = 2 * np.pi * self.hunt_hz
        hunting = self.hunt / turns * (np.cos(turns * t + self.hunt_phase) - np.cos(self.hunt_phase))
        return np.asarray(t - hunting - self.cold * self.warms_in_s * (1 - np.exp(-t / self.warms_in_s)))
