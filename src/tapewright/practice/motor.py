r"""What turns the cam: its speed, and how it wavers.

    speed over time:  v(t) = 1 + hunt sin(2 pi hunt_hz t + phase) - cold exp(-t / warms_in_s)

Cam events are laid out in motor time u (the time a steady motor would have needed) and brought to true time
by solving  u = integral of v from 0 to t.  A governor that hunts is slow and has nothing to do with the cam;
a cam or a shaft out of true repeats at the same angle of each turn:

    displacement at angle p units:  out_of_true_s sin(2 pi harmonic p / units per turn + angle)

Motors on a direct-current supply: how fast they turn at a voltage. The practice machine's motors.

Picture (steady speed over voltage):

    speed        series ..'      governed            .'      shunt or permanent magnet   /
              ..'                   ________________'                                  /
          ..'                     .'  contact opens                                  /
        .'                      .'    and closes                                   /
       +------------ V         +--------------------- V                          +------------ V

    series            V = I (R + k w) + brushes      torque k I^2
    permanent magnet  V = I R + K w + brushes        torque K I
    load torque       t0 + t1 w + t2 w^2             w in rad/s

A governor shorts its resistor below its speed: with the contact always closed the motor is the plain one, with it
always open it is the one with the resistor in; between the two it holds its speed, a little faster at more volts.
Worn: more friction and brush drop, unsteady, and faster as it warms.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tapewright.practice.line_signal import FloatArray

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
        """Return the displacement of an instant at that angle of the turn, in seconds, late positive."""
        return self.out_of_true_s * float(np.sin(2 * np.pi * self.harmonic * angle_units / units_per_turn + self.angle))

    def _speed(self, t: FloatArray) -> FloatArray:
        hunting = self.hunt * np.sin(2 * np.pi * self.hunt_hz * t + self.hunt_phase)
        return np.asarray(1 + hunting - self.cold * np.exp(-t / self.warms_in_s))

    def _motor_time_s(self, t: FloatArray) -> FloatArray:
        turns = 2 * np.pi * self.hunt_hz
        hunting = self.hunt / turns * (np.cos(turns * t + self.hunt_phase) - np.cos(self.hunt_phase))
        return np.asarray(t - hunting - self.cold * self.warms_in_s * (1 - np.exp(-t / self.warms_in_s)))


RAD_S_IN_RPM = 2 * np.pi / 60
HALVINGS = 60
MOST_RAD_S = 2000.0


@dataclass(frozen=True, slots=True)
class SuppliedMotor:
    """One motor with its load.

    Attributes:
        kind: "series" or "magnet".
        r_ohm: resistance of winding and brushes.
        k: flux constant: V s / A rad for series, V s / rad for a magnet.
        t0, t1, t2: load torque, N m, N m s, N m s^2.
        brush_v: drop at the brushes.
        governor_rpm: speed the governor holds, None without one.
        governor_ohm: its resistor.
        governor_slope: relative speed gained over the governor's whole window.
        unsteady: relative standard deviation of a reading of the speed.
        cold_share: how much more friction it has when cold, relative to t0.
        warms_in_s: time constant of that.
        settles_in_s: time constant of a change of speed.
    """

    kind: Literal["series", "magnet"] = "series"
    r_ohm: float = 12.0
    k: float = 0.35
    t0: float = 0.06
    t1: float = 2e-4
    t2: float = 4e-7
    brush_v: float = 1.5
    governor_rpm: float | None = None
    governor_ohm: float = 60.0
    governor_slope: float = 0.001
    unsteady: float = 0.0002
    cold_share: float = 0.0
    warms_in_s: float = 120.0
    settles_in_s: float = 1.2

    def steady_rpm(self, volts: float, warmth: float = 1.0) -> tuple[float, float]:
        """Return speed and current at a voltage; `warmth` 0 cold to 1 warm. One that cannot start: 0 rpm."""
        t0 = self.t0 * (1 + self.cold_share * (1 - warmth))
        plain, amps = self._plain_rpm(volts, self.r_ohm, t0)
        if self.governor_rpm is None or plain <= self.governor_rpm:
            return plain, amps
        slowed, fewer = self._plain_rpm(volts, self.r_ohm + self.governor_ohm, t0)
        if slowed >= self.governor_rpm:
            return slowed, fewer
        share = (plain - self.governor_rpm) / (plain - slowed)
        return self.governor_rpm * (1 + self.governor_slope * (share - 0.5)), amps + (fewer - amps) * share

    def _plain_rpm(self, volts: float, r_ohm: float, t0: float) -> tuple[float, float]:
        drive = max(0.0, volts - self.brush_v)
        stalled = drive / r_ohm
        if self._torque(stalled) <= t0:
            return 0.0, stalled
        low, high = 0.0, MOST_RAD_S
        for _ in range(HALVINGS):
            w = (low + high) / 2
            faster = self._torque(self._amps(drive, r_ohm, w)) > t0 + self.t1 * w + self.t2 * w * w
            low, high = (w, high) if faster else (low, w)
        return low / RAD_S_IN_RPM, self._amps(drive, r_ohm, low)

    def _amps(self, drive: float, r_ohm: float, w: float) -> float:
        if self.kind == "series":
            return drive / (r_ohm + self.k * w)
        return max(0.0, (drive - self.k * w) / r_ohm)

    def _torque(self, amps: float) -> float:
        return self.k * amps * (amps if self.kind == "series" else 1.0)


@dataclass(slots=True)
class MotorOnBench:
    """A motor that runs, with what it did so far.

    Attributes:
        motor: see there.
        generator: source of chance.
        volts: at its terminals, 0 when the output is off.
        rpm: now.
        ran_s: how long it has run, for its warmth.
    """

    motor: SuppliedMotor
    generator: np.random.Generator
    volts: float = 0.0
    rpm: float = 0.0
    ran_s: float = 0.0

    @property
    def warmth(self) -> float:
        """How warm it is, 0 to 1."""
        return float(1 - np.exp(-self.ran_s / self.motor.warms_in_s))

    @property
    def amps(self) -> float:
        """The current it takes."""
        return self.motor.steady_rpm(self.volts, self.warmth)[1]

    def run(self, seconds: float) -> None:
        """Let time pass."""
        wanted, _ = self.motor.steady_rpm(self.volts, self.warmth)
        self.rpm += (wanted - self.rpm) * float(1 - np.exp(-seconds / self.motor.settles_in_s))
        self.ran_s += seconds if self.volts else 0.0

    def read_rpm(self) -> float:
        """Read its speed once."""
        return self.rpm * (1 + self.motor.unsteady * float(self.generator.standard_normal()))


#: what the practice machines have; invented
PRACTICE_MOTORS = {
    "heron": SuppliedMotor(governor_rpm=1800.0, k=0.42, r_ohm=14.0, t0=0.08),
    "petrel": SuppliedMotor(brush_v=2.5, t0=0.09, unsteady=0.0004, cold_share=0.1),
}
