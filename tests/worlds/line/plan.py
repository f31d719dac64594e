"""The plan of a recording: an ordinary machine, what it sends and when, and how its motor runs; a world changes it.

All sizes are common practice, no source, but for the speeds and stop lengths, which are the published ones (45.45,
50, 56.88, 74.2, 75, 100 Bd; 7, 7.42, 7.5 and 8 units) and anything between 40 and 110 Bd.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from zlib import crc32

import numpy as np

from worlds.line.gauge import Lateness
from worlds.line.instrument import Instrument, Recording, draw_instrument, record
from worlds.line.motor import Deviation, Motor
from worlds.line.transmitter import Line, Transmitter, send
from worlds.line.truth import Truth

SPEEDS_BD = (1000 / 22, 50.0, 56.88, 74.2, 75.0, 100.0)


def log_uniform(rng: np.random.Generator, low: float, high: float) -> float:
    """Return a size between two sizes, every octave as likely as the next."""
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


@dataclass
class Plan:
    """What will be recorded; a world changes an ordinary plan."""

    rng: np.random.Generator
    machine: Transmitter
    characters: int
    keyed: bool = False
    begins_inside: bool = False
    lead_s: float = 0.5
    motor: Callable[[float], list[Deviation]] = field(default=lambda _: [])  # from the duration in s

    def change(self, **settings: object) -> None:
        """Change settings of the transmitter."""
        self.machine = replace(self.machine, **settings)  # type: ignore[arg-type]

    def add_motor(self, more: Callable[[float], list[Deviation]]) -> None:
        """Let the motor do this as well."""
        before = self.motor
        self.motor = lambda duration_s: [*before(duration_s), *more(duration_s)]

    def shift_contacts(self, closing_ms: np.ndarray, opening_ms: np.ndarray) -> None:
        """Move cams by so much, shapes (6,) and (5,)."""
        self.change(cams=self.machine.cams + Lateness(closing_ms, opening_ms))


def ordinary(rng: np.random.Generator) -> Plan:
    """Return a machine in good order: errors of hundredths of a millisecond, a steady motor, 20 to 200 characters."""
    speed_bd = (
        float(rng.choice(SPEEDS_BD)) * float(rng.normal(1, 0.008)) if rng.random() < 0.7 else log_uniform(rng, 40, 110)
    )
    small_ms = log_uniform(rng, 0.01, 0.08)
    machine = Transmitter(
        unit_ms=1e3 / speed_bd,
        character_units=float(rng.choice([7.0, 7.42, 7.5, 8.0])),
        cams=Lateness(rng.normal(0, small_ms, 6), rng.normal(0, small_ms, 5)),
        start_late_ms=float(rng.normal(0, small_ms)),
        closing_delay_ms=float(rng.uniform(0, 0.15)),
        opening_delay_ms=float(rng.uniform(0, 0.15)),
        scatter_ms=log_uniform(rng, 0.01, 0.12),
        start_jitter_ms=log_uniform(rng, 0.01, 0.1),
    )
    return Plan(rng, machine, int(log_uniform(rng, 20, 200)), lead_s=float(rng.uniform(0.2, 1.0)))


def draw_codes(rng: np.random.Generator, n: int) -> list[str]:
    """Return random codes: all as likely, a few in turn, or some far more often than others, as in a language."""
    style = rng.random()
    if style < 0.4:
        numbers = rng.integers(0, 32, n)
    elif style < 0.55:
        numbers = np.resize(rng.choice(32, int(rng.integers(2, 6)), replace=False), n)
    else:
        numbers = rng.choice(32, n, p=rng.dirichlet(np.full(32, 0.7)))
    return [f"{number:05b}" for number in numbers]


def key_times(rng: np.random.Generator, n: int, cycle_s: float) -> np.ndarray:
    """Return seconds between keystrokes, shape (n,), with pauses to look for a key; no quicker than the cycle."""
    typed_s = rng.lognormal(np.log(rng.uniform(0.15, 0.5)), 0.5, n)
    pauses_s = np.where(rng.random(n) < 0.05, rng.uniform(1, 6, n), 0.0)
    return np.maximum(typed_s + pauses_s, cycle_s * 1.02)


def carry_out(plan: Plan, kind: str) -> tuple[Line, Truth]:
    """Send a plan's characters."""
    rng, machine = plan.rng, plan.machine
    unit_s, n = machine.unit_ms / 1e3, plan.characters
    cycle_s = machine.character_units * unit_s
    codes = draw_codes(rng, n)
    gaps_s = key_times(rng, n, cycle_s) if plan.keyed else np.full(n, cycle_s)
    motor = Motor(plan.lead_s + 1.3 * float(np.sum(gaps_s)) + 2.0)
    motor = Motor(motor.duration_s, plan.motor(motor.duration_s))
    begins_s = plan.lead_s + np.cumsum(gaps_s) - gaps_s[0]
    if plan.keyed:  # a key trips the clutch at a time, but not before the shaft is latched
        begins_s = motor.phase_at(begins_s)
        for i in range(1, n):
            begins_s[i] = max(begins_s[i], begins_s[i - 1] + cycle_s)
    end_s = float(motor.time_at(begins_s[-1:] + cycle_s)[0]) + float(rng.uniform(0.05, 0.5))
    begin_s = 0.0
    if plan.begins_inside:
        begin_s = float(motor.time_at(begins_s[:1] + rng.uniform(0.5, 6.0) * unit_s)[0])
    return send(rng, machine, motor, codes, begins_s, kind=kind, keyed=plan.keyed, window_s=(begin_s, end_s))


@dataclass(frozen=True)
class World:
    """A named world. A name and a seed always give the same line, whatever records it."""

    kind: str
    change: Callable[[Plan], None]

    def line(self, seed: int) -> tuple[Line, Truth]:
        """Return the line and its truth."""
        plan = ordinary(np.random.default_rng([crc32(self.kind.encode()), seed]))
        self.change(plan)
        return carry_out(plan, self.kind)

    def __call__(self, seed: int, instrument: str | Instrument = "edges") -> Recording:
        """Draw one recording."""
        line, truth = self.line(seed)
        rng = np.random.default_rng([crc32(self.kind.encode()), seed, 1])
        if isinstance(instrument, str):
            instrument = draw_instrument(instrument, rng, line.duration_s)
        return record(line, truth, instrument, rng)
