r"""The practice machine's magnet: a coil whose armature moves, integrated step by step from its physics.

Picture (x = gap, 0 when the armature lies on the pole; L grows as the gap closes):

        pole |<-- x -->| armature ~~~ spring, friction, damping
                                 L(x) = leak + k / (x + x0)

    electrical   V = R i + d(L(x) (i + i_r)) / dt     i_r stands for the iron's residual magnetism
    magnetic     F = (i + i_r)^2 / 2  dL/dx           (co-energy, any textbook on electromechanics)
    mechanical   m x'' = -F + spring(x) - b x' - friction

The classical Runge-Kutta method of fourth order with a fixed step; landings are found inside the step.
"""

import math
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

STEP_S = 1e-5
#: slower than this the armature stays where it landed
RESTS_BELOW_M_PER_S = 2e-3


@dataclass(frozen=True, slots=True)
class MagnetCoil:
    """A magnet with its mechanics.

    Attributes:
        r_ohm: resistance.
        open_h: inductance with the armature out.
        closed_h: inductance with the armature on the pole.
        pull_in_a: current at which the pull just beats the spring at full gap.
        gap_m: full gap.
        mass_kg: mass of the armature as felt at the pole.
        spring_growth: spring force on the pole over spring force at full gap.
        damping_n_s_per_m: viscous damping; old grease makes it large.
        friction_n: dry friction.
        restitution: speed after a landing over speed before it.
        residual_a: residual magnetism as a current that is always there.
        stuck: the armature does not move at all.
        leak: share of open_h that does not depend on the gap.
    """

    r_ohm: float = 66.0
    open_h: float = 1.4
    closed_h: float = 2.0
    pull_in_a: float = 0.024
    gap_m: float = 0.4e-3
    mass_kg: float = 0.01
    spring_growth: float = 1.4
    damping_n_s_per_m: float = 0.5
    friction_n: float = 0.0
    restitution: float = 0.0
    residual_a: float = 0.0
    stuck: bool = False
    leak: float = 0.3

    @property
    def x0_m(self) -> float:
        """Gap that remains in the iron when the armature lies on the pole."""
        gapped = self.open_h * (1 - self.leak)
        return self.gap_m * gapped / (self.closed_h - self.open_h)

    @property
    def k_h_m(self) -> float:
        """K of L(x)."""
        return self.open_h * (1 - self.leak) * (self.gap_m + self.x0_m)

    def inductance_h(self, x_m: float) -> float:
        """L at a gap."""
        return self.open_h * self.leak + self.k_h_m / (x_m + self.x0_m)

    def slope_h_per_m(self, x_m: float) -> float:
        """Size of dL/dx at a gap (L falls as the gap opens)."""
        return self.k_h_m / (x_m + self.x0_m) ** 2

    @property
    def spring_n(self) -> float:
        """Spring force at full gap, as the pull-in current demands it."""
        return self.pull_in_a**2 / 2 * self.slope_h_per_m(self.gap_m)

    def spring_at(self, x_m: float) -> float:
        """Spring force at a gap, growing evenly towards the pole."""
        return self.spring_n * (1 + (self.spring_growth - 1) * (1 - x_m / self.gap_m))


@dataclass(frozen=True, slots=True)
class Feed:
    """What feeds the coil.

    Attributes:
        volts: supply.
        series_ohm: resistor and shunt in series.
        clamp_v: voltage of what lies across the coil when the switch opens.
        clamp_ohm: its resistance.
    """

    volts: float = 120.0
    series_ohm: float = 1934.0
    clamp_v: float = 100.0
    clamp_ohm: float = 0.0


@dataclass(frozen=True, slots=True)
class Pulse:
    """One closing of the switch, in seconds from the begin of the recording."""

    on_s: float
    off_s: float


@dataclass(frozen=True, slots=True, eq=False)
class CoilTruth:
    """What really happened.

    Attributes:
        time_s: shape (n,), every integration step.
        current_a: shape (n,).
        gap_m: shape (n,).
        landings_s: each arrival at the pole, bounces included.
        first_landings_s: for each pulse the first arrival at the pole, None when it never arrived.
        left_s: for each pulse when the armature left the pole for good, None when it did not.
        back_s: for each pulse when it first arrived back at its stop, None when it did not.
    """

    time_s: FloatArray
    current_a: FloatArray
    gap_m: FloatArray
    landings_s: tuple[float, ...]
    first_landings_s: tuple[float | None, ...]
    left_s: tuple[float | None, ...]
    back_s: tuple[float | None, ...]


@dataclass(slots=True)
class _Motion:
    """State of the integration."""

    coil: MagnetCoil
    feed: Feed
    current_a: float = 0.0
    gap_m: float = 0.0
    speed: float = 0.0
    landings_s: list[float] = field(default_factory=list)
    leavings_s: list[float] = field(default_factory=list)
    backstops_s: list[float] = field(default_factory=list)
    _k: float = field(init=False)
    _x0: float = field(init=False)
    _leak_h: float = field(init=False)
    _spring: float = field(init=False)

    def __post_init__(self) -> None:
        coil = self.coil
        self._k, self._x0, self._leak_h, self._spring = coil.k_h_m, coil.x0_m, coil.open_h * coil.leak, coil.spring_n

    def rates(self, closed: bool, i: float, x: float, v: float) -> tuple[float, float, float]:
        """Return di/dt, dx/dt, dv/dt."""
        coil, feed = self.coil, self.feed
        across = feed.volts - feed.series_ohm * i if closed else -(feed.clamp_v + feed.clamp_ohm * i) if i > 0 else 0.0
        slope = self._k / (x + self._x0) ** 2
        total = i + coil.residual_a
        driven = closed or i > 0
        inductance = self._leak_h + self._k / (x + self._x0)
        current_rate = (across - coil.r_ohm * i + total * slope * v) / inductance if driven else 0.0
        if coil.stuck:
            return current_rate, 0.0, 0.0
        spring = self._spring * (1 + (coil.spring_growth - 1) * (1 - x / coil.gap_m))
        force = spring - total * total / 2 * slope - coil.damping_n_s_per_m * v
        if v != 0:
            force -= math.copysign(coil.friction_n, v)
        elif abs(force) <= coil.friction_n:
            force = 0.0
        else:
            force -= math.copysign(coil.friction_n, force)
        # against a stop only what leads away from it counts
        if (x <= 0 and v <= 0 and force < 0) or (x >= coil.gap_m and v >= 0 and force > 0):
            return current_rate, 0.0, 0.0
        return current_rate, v, force / coil.mass_kg

    def step(self, closed: bool, now: float, h: float) -> None:
        """Go one step of h seconds by the classical Runge-Kutta method."""
        i, x, v = self.current_a, self.gap_m, self.speed
        a1, b1, c1 = self.rates(closed, i, x, v)
        a2, b2, c2 = self.rates(closed, i + h / 2 * a1, x + h / 2 * b1, v + h / 2 * c1)
        a3, b3, c3 = self.rates(closed, i + h / 2 * a2, x + h / 2 * b2, v + h / 2 * c2)
        a4, b4, c4 = self.rates(closed, i + h * a3, x + h * b3, v + h * c3)
        self.current_a = max(0.0, i + h / 6 * (a1 + 2 * a2 + 2 * a3 + a4))
        self.gap_m = x + h / 6 * (b1 + 2 * b2 + 2 * b3 + b4)
        self.speed = v + h / 6 * (c1 + 2 * c2 + 2 * c3 + c4)
        if x <= 0 < self.gap_m:
            self.leavings_s.append(now)
        if self.coil.friction_n and v * self.speed < 0:
            self.speed = 0.0
        self._stops(x, now, h)

    def _stops(self, before_m: float, now: float, h: float) -> None:
        coil = self.coil
        if self.gap_m <= 0 < before_m:
            self.landings_s.append(now + h * before_m / (before_m - self.gap_m))
            self._hit(0.0)
        elif self.gap_m >= coil.gap_m > before_m:
            self.backstops_s.append(now)
            self._hit(coil.gap_m)
        inside = min(max(self.gap_m, 0.0), coil.gap_m)
        if inside != self.gap_m:
            self._put_at(inside)

    def _inductance(self, x_m: float) -> float:
        return self._leak_h + self._k / (x_m + self._x0)

    def _hit(self, stop_m: float) -> None:
        rebound = -self.coil.restitution * self.speed
        self.speed = rebound if abs(rebound) > RESTS_BELOW_M_PER_S else 0.0
        self._put_at(stop_m + math.copysign(1e-12, rebound) if self.speed else stop_m)

    def _put_at(self, gap_m: float) -> None:
        """Put the gap right after a step that went through a stop; the flux linkage stays as it is."""
        total = self.current_a + self.coil.residual_a
        share = self._inductance(self.gap_m) / self._inductance(gap_m)
        self.current_a = max(0.0, total * share - self.coil.residual_a) if self.current_a > 0 else 0.0
        self.gap_m = gap_m


def run_coil(coil: MagnetCoil, feed: Feed, pulses: tuple[Pulse, ...], duration_s: float) -> CoilTruth:
    """Return what the coil does through some pulses, the armature out at first."""
    steps = round(duration_s / STEP_S)
    current, gap = np.zeros(steps + 1), np.empty(steps + 1)
    motion = _Motion(coil, feed, gap_m=coil.gap_m)
    gap[0] = coil.gap_m
    switched = np.zeros(steps + 1, dtype=bool)
    for pulse in pulses:
        switched[round(pulse.on_s / STEP_S) : round(pulse.off_s / STEP_S)] = True
    for n in range(steps):
        motion.step(bool(switched[n]), n * STEP_S, STEP_S)
        current[n + 1], gap[n + 1] = motion.current_a, motion.gap_m
    ends = [*(pulse.on_s for pulse in pulses[1:]), duration_s]
    landings, leavings = motion.landings_s, motion.leavings_s
    first = [_first(landings, pulse.on_s, pulse.off_s) for pulse in pulses]
    left = [_last(leavings, pulse.off_s, end) for pulse, end in zip(pulses, ends, strict=True)]
    back = [_first(motion.backstops_s, pulse.off_s, end) for pulse, end in zip(pulses, ends, strict=True)]
    time = np.asarray(np.arange(steps + 1) * STEP_S, dtype=np.float64)
    return CoilTruth(time, current, gap, tuple(landings), tuple(first), tuple(left), tuple(back))


def _first(times: list[float], begin: float, end: float) -> float | None:
    return next((time for time in times if begin <= time < end), None)


def _last(times: list[float], begin: float, end: float) -> float | None:
    return next((time for time in reversed(times) if begin <= time < end), None)


@dataclass(frozen=True, slots=True)
class CurrentProbe:
    """What records the current.

    Attributes:
        rate_hz: sample rate.
        noise_a: standard deviation of white noise, as current.
        offset_a: zero error, as current.
        inverted: clipped on the wrong way round.
        corner_hz: lower corner of AC coupling; 0 for direct coupling.
        volts_per_a: what it gives for an ampere (the shunt's resistance).
    """

    rate_hz: float = 10_000.0
    noise_a: float = 0.0
    offset_a: float = 0.0
    inverted: bool = False
    corner_hz: float = 0.0
    volts_per_a: float = 1.0


def record(truth: CoilTruth, probe: CurrentProbe, generator: np.random.Generator) -> FloatArray:
    """Return the recorded samples, shape (n,), from the begin of the truth."""
    count = int(truth.time_s[-1] * probe.rate_hz)
    times = np.arange(count) / probe.rate_hz
    current = truth.current_a
    if probe.corner_hz > 0:
        current = _ac_coupled(current, probe.corner_hz)
    sampled = np.interp(times, truth.time_s, current) + probe.offset_a + generator.normal(0, probe.noise_a, count)
    return np.asarray(sampled * probe.volts_per_a * (-1 if probe.inverted else 1))


def _ac_coupled(current: FloatArray, corner_hz: float) -> FloatArray:
    """Pass through a capacitor and a resistor: y' = x' - y / RC, step by step."""
    keeps = math.exp(-2 * math.pi * corner_hz * STEP_S)
    out, level = np.empty_like(current), 0.0
    for n, change in enumerate(np.diff(current, prepend=current[0])):
        level = level * keeps + float(change)
        out[n] = level
    return out
