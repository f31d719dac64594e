r"""The motor: its speed over time as one continuous phase.

Picture (speed against time):

      1 + drift  - - - - - - - - -.-'''''''      Warming: oil thins, the motor gains speed and settles
                          .-''
      1 - - - - - - -.-''                         BandSwing: a governor hunts about a frequency, never quite on it
                /\  /\    /\                      Sag: a load comes on and goes off over seconds
      - - - - -'--\/--\/-'--\ . .

Speed is relative to the set speed: 1 + sum of the deviations. Phase is its integral over time; one second of phase is
what the motor turns in one second at the set speed. The integral of the deviations is taken by Simpson's rule on a
grid of 5 ms and read between grid points by cubic Hermite polynomials, which for swings below 5 Hz is good to a few
nanoseconds.

Sources: warming as a first-order lag and hunting as a narrow-band random process are common practice, no source; the
sum of random sines for a Gaussian process of given spectrum is S. O. Rice, "Mathematical analysis of random noise"
(1944), from memory.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from statistics import NormalDist
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
STEP_S = 5e-3
FWHM_IN_SIGMAS = 2 * (2 * np.log(2)) ** 0.5  # full width at half height of a Gaussian hump


class Deviation(Protocol):
    """Something that changes the motor's speed."""

    def at(self, t_s: Floats) -> Floats:
        """Return what it adds to the relative speed at each time (0.01 = one per cent faster)."""


@dataclass(frozen=True)
class Warming:
    """Speed gained while oil and motor warm: `gain` * (1 - exp(-t / tau)). A negative gain is a motor that tires."""

    gain: float
    tau_s: float

    def at(self, t_s: Floats) -> Floats:
        return self.gain * (1 - np.exp(-t_s / self.tau_s))


@dataclass(frozen=True)
class SteadySwing:
    """A swing of one frequency and one amplitude."""

    frequency_hz: float
    amplitude: float
    phase_rad: float

    def at(self, t_s: Floats) -> Floats:
        return self.amplitude * np.sin(2 * np.pi * self.frequency_hz * t_s + self.phase_rad)


@dataclass(frozen=True, eq=False)
class BandSwing:
    """A swing that wanders: a Gaussian random process whose power lies in a Gaussian hump.

    Attributes:
        frequency_hz: the middle of the hump.
        width_hz: its full width at half height.
        rms: root mean square of the relative speed, of the process (one stretch of it has more or less).
        lines_hz: shape (m,), frequencies of the sines it is summed from, each in its own slice of equal power.
        cosines: shape (m,), their cosine amplitudes; `sines` the sine amplitudes; independent, Gaussian, variance
            rms^2 / m.
    """

    frequency_hz: float
    width_hz: float
    rms: float
    lines_hz: Floats
    cosines: Floats
    sines: Floats

    @classmethod
    def draw(
        cls, rng: np.random.Generator, frequency_hz: float, width_hz: float, rms: float, duration_s: float
    ) -> "BandSwing":
        """Draw one; the sines lie closer together than 1 / duration, so that it never repeats itself."""
        m = max(40, int(np.ceil(6 * width_hz * duration_s)))
        slices = (np.arange(m) + rng.uniform(0.02, 0.98, m)) / m
        sigmas = np.array([NormalDist().inv_cdf(p) for p in slices])
        lines_hz = np.maximum(0.02, frequency_hz + width_hz / FWHM_IN_SIGMAS * sigmas)
        cosines, sines = rng.normal(0, rms / m**0.5, (2, m))
        return cls(frequency_hz, width_hz, rms, lines_hz, cosines, sines)

    def at(self, t_s: Floats) -> Floats:
        total = np.zeros_like(t_s)
        for line_hz, cosine, sine in zip(self.lines_hz, self.cosines, self.sines, strict=True):
            angle = 2 * np.pi * line_hz * t_s
            total += cosine * np.cos(angle) + sine * np.sin(angle)
        return total


@dataclass(frozen=True)
class Sag:
    """A load that comes and goes: the speed falls by `depth` at the middle, as a raised cosine `length_s` long."""

    middle_s: float
    length_s: float
    depth: float

    def at(self, t_s: Floats) -> Floats:
        x = (t_s - self.middle_s) / self.length_s
        return np.where(np.abs(x) < 0.5, -self.depth * 0.5 * (1 + np.cos(2 * np.pi * x)), 0.0)


@dataclass(frozen=True)
class Wheel:
    """A wheel that runs out: `amplitude_ms` at the set speed, `harmonic` times in each of its turns."""

    turns_per_character: float
    harmonic: int
    amplitude_ms: float
    phase_rad: float
    turns_with: str = "cams"  # or "motor"

    def late_ms(self, units: Floats, character_units: float) -> Floats:
        """Return the lateness where the wheel has turned `units` since it began."""
        turns = self.turns_per_character * units / character_units
        return self.amplitude_ms * np.sin(2 * np.pi * self.harmonic * turns + self.phase_rad)


@dataclass(eq=False)
class Motor:
    """A motor that runs from 0 to `duration_s`.

    Attributes:
        deviations: what changes its speed.
    """

    duration_s: float
    deviations: Sequence[Deviation] = ()
    _times_s: Floats = field(init=False, repr=False)
    _extra_s: Floats = field(init=False, repr=False)  # phase minus time
    _slope: Floats = field(init=False, repr=False)  # relative speed minus 1

    def __post_init__(self) -> None:
        n = int(np.ceil(self.duration_s / STEP_S)) + 2
        fine_s = np.arange(2 * n + 1) * (STEP_S / 2)
        deviation = np.zeros_like(fine_s)
        for one in self.deviations:
            deviation += one.at(fine_s)
        steps = STEP_S / 6 * (deviation[:-2:2] + 4 * deviation[1::2] + deviation[2::2])
        self._times_s, self._slope = fine_s[::2], deviation[::2]
        self._extra_s = np.concatenate([[0.0], np.cumsum(steps)])

    def speed_at(self, t_s: Floats) -> Floats:
        """Return the relative speed at each time (1 = the set speed)."""
        return 1 + sum((one.at(np.asarray(t_s, dtype=float)) for one in self.deviations), np.zeros(np.shape(t_s)))

    def phase_at(self, t_s: Floats) -> Floats:
        """Return the phase in seconds of set speed that the motor has turned since time 0."""
        t_s = np.asarray(t_s, dtype=float)
        i = np.clip((t_s / STEP_S).astype(int), 0, len(self._times_s) - 2)
        x = (t_s - self._times_s[i]) / STEP_S
        left, right = self._extra_s[i], self._extra_s[i + 1]
        leaving, arriving = self._slope[i] * STEP_S, self._slope[i + 1] * STEP_S
        hermite = (
            (2 * x**3 - 3 * x**2 + 1) * left
            + (x**3 - 2 * x**2 + x) * leaving
            + (3 * x**2 - 2 * x**3) * right
            + (x**3 - x**2) * arriving
        )
        return t_s + hermite

    def time_at(self, phase_s: Floats) -> Floats:
        """Return the time at which the motor has turned `phase_s`; the inverse of `phase_at`, by Newton's steps."""
        phase_s = np.asarray(phase_s, dtype=float)
        t_s = np.interp(phase_s, self._times_s + self._extra_s, self._times_s)
        for _ in range(3):
            slope = 1 + np.interp(t_s, self._times_s, self._slope)
            t_s = t_s - (self.phase_at(t_s) - phase_s) / slope
        return t_s
