"""Five-unit start-stop lines that are hard to read, though nothing is wrong with their truth.

    recording = HARD["third level while unplugged"](3)

Each is a machine in good order, recorded by an oscilloscope of 12 bits unless the name says otherwise. All of it
common practice, no source.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from worlds.line.instrument import Instrument, Recording, convert, draw_rate, record, record_steps, steps_seen
from worlds.line.machines import bounces, drops_out, keyed
from worlds.line.plan import Plan, carry_out, log_uniform, ordinary
from worlds.line.transmitter import Line
from worlds.line.truth import Stretches, Truth

Floats = NDArray[np.float64]


def scope(rng: np.random.Generator, duration_s: float, space_v: float = 0.0, mark_v: float = 5.0) -> Instrument:
    """Return an oscilloscope of 12 bits that shows -20 to +160 % of the step."""
    low, high = sorted((space_v, mark_v))
    step = high - low
    around = (low - 0.2 * step, high + 0.6 * step)
    rate_hz, ppm = draw_rate(rng, duration_s), float(rng.normal(0, 30))
    return Instrument(
        "oscilloscope", rate_hz, ppm, 0.0, space_v, mark_v, 12, around, noise_v=step * log_uniform(rng, 1e-3, 1e-2)
    )


def volts_of(line: Line, space_v: float, mark_v: float) -> Floats:
    """Return the voltage before, between and after the edges, shape (n + 1,)."""
    return np.where(np.concatenate([[line.mark_first], line.mark_after]), mark_v, space_v)


def with_steps(
    steps_s: Floats, volts: Floats, more_s: Floats, level_of: Callable[[Floats, Floats], Floats]
) -> tuple[Floats, Floats]:
    """Cut the stretches also at `more_s` and let `level_of` (begin of a stretch, its voltage) say what each shows."""
    all_s = np.sort(np.concatenate([steps_s, more_s]))
    begins_s = np.concatenate([[-1e-9], all_s])
    return all_s, level_of(begins_s, volts[np.searchsorted(steps_s, begins_s, side="right")])


@dataclass(frozen=True)
class HardWorld:
    """A named world; `make` draws one recording of a plan."""

    kind: str
    make: Callable[[str, np.random.Generator, Plan], Recording]

    def __call__(self, seed: int) -> Recording:
        rng = np.random.default_rng([crc32(self.kind.encode()), seed])
        return self.make(self.kind, rng, ordinary(rng))


def unplugged(kind: str, rng: np.random.Generator, plan: Plan) -> Recording:
    """The input floats half-way (0, 2.5, 5 V) before the line is plugged in and after it is pulled out."""
    plan.lead_s = float(rng.uniform(1.0, 2.0))
    line, truth = carry_out(plan, kind)
    plugged_s, pulled_s = float(rng.uniform(0.2, 0.8)), line.duration_s + 0.2
    half_v = 5 * float(rng.uniform(0.4, 0.6))
    line = replace(line, duration_s=line.duration_s + float(rng.uniform(0.5, 2.0)))

    def shown(begins_s: Floats, volts: Floats) -> Floats:
        return np.where((begins_s < plugged_s) | (begins_s >= pulled_s), half_v, volts)

    steps_s, volts = with_steps(line.edges_s, volts_of(line, 0.0, 5.0), np.array([plugged_s, pulled_s]), shown)
    return sampled(steps_s, volts, line, truth, scope(rng, line.duration_s), rng)


def rests_lower(kind: str, rng: np.random.Generator, plan: Plan) -> Recording:
    """Keyed by hand; 0.4 s after the last element mark falls from 5 to 2.5 V, to save current, until the start."""
    keyed(plan)
    line, truth = carry_out(plan, kind)
    ends_s = np.concatenate([line.edges_s, [line.duration_s]])
    long = np.concatenate([[line.mark_first], line.mark_after]) & (np.diff(ends_s, prepend=0.0) > 0.45)
    saves_s = np.concatenate([[0.0], line.edges_s])[long] + 0.4

    def shown(begins_s: Floats, volts: Floats) -> Floats:
        return np.where(np.isin(begins_s, saves_s), 2.5, volts)

    steps_s, volts = with_steps(line.edges_s, volts_of(line, 0.0, 5.0), saves_s, shown)
    return sampled(steps_s, volts, line, truth, scope(rng, line.duration_s), rng)


def loaded(kind: str, rng: np.random.Generator, plan: Plan) -> Recording:
    """In the middle third another instrument hangs on the line: mark is 2.5 V instead of 5."""
    plan.characters = max(plan.characters, 40)
    line, truth = carry_out(plan, kind)
    third_s = line.duration_s / 3

    def shown(begins_s: Floats, volts: Floats) -> Floats:
        return np.where((begins_s >= third_s) & (begins_s < 2 * third_s) & (volts > 2), 2.5, volts)

    steps_s, volts = with_steps(line.edges_s, volts_of(line, 0.0, 5.0), np.array([third_s, 2 * third_s]), shown)
    return sampled(steps_s, volts, line, truth, scope(rng, line.duration_s), rng)


def sampled(
    steps_s: Floats, volts: Floats, line: Line, truth: Truth, instrument: Instrument, rng: np.random.Generator
) -> Recording:
    """Sample steps that are more than mark and space."""
    samples = record_steps(steps_s, volts, line.duration_s, instrument, rng)
    return Recording(truth, instrument, line.duration_s, None, None, line.mark_first, samples, instrument.rate_hz)


def inverted(kind: str, rng: np.random.Generator, plan: Plan) -> Recording:
    """The voltage over the contacts: high while they are open."""
    line, truth = carry_out(plan, kind)
    open_v = float(rng.choice([24.0, 48.0, 60.0, 120.0]))
    return record(line, truth, scope(rng, line.duration_s, open_v, float(rng.uniform(0, 2))), rng)


def inverted_busy(kind: str, rng: np.random.Generator, plan: Plan) -> Recording:
    """Inverted, sent without rest, begun inside a character: no idle stretch shows the polarity."""
    plan.begins_inside, plan.characters = True, max(plan.characters, 40)
    return inverted(kind, rng, plan)


def chatter(kind: str, rng: np.random.Generator, plan: Plan) -> Recording:
    """Contacts chatter: up to twenty re-openings in the first 1.5 to 4 ms of a mark; exact edges."""
    plan.change(bounce_ms=float(rng.uniform(1.5, min(4.0, 0.3 * plan.machine.unit_ms))), bounce_edges=20)
    line, truth = carry_out(plan, kind)
    return record(line, truth, Instrument("edges"), rng)


def dirty(kind: str, rng: np.random.Generator, plan: Plan) -> Recording:
    """Bounce and dropouts at once; exact edges."""
    bounces(plan)
    drops_out(plan)
    line, truth = carry_out(plan, kind)
    return record(line, truth, Instrument("edges"), rng)


def fading(kind: str, rng: np.random.Generator, plan: Plan) -> Recording:
    """The level wanders: zero and height of the step both change by up to 30 % over the recording."""
    line, truth = carry_out(plan, kind)
    instrument = scope(rng, line.duration_s)
    assert instrument.rate_hz is not None
    at_s = np.arange(int(line.duration_s * instrument.rate_hz)) / instrument.rate_hz
    instrument = replace(instrument, clock_ppm=0.0, range_v=(-3.0, 9.0))
    clean_v = steps_seen(line.edges_s, volts_of(line, 0.0, 5.0), at_s, instrument)
    height = 1 + 0.3 * np.sin(2 * np.pi * at_s * rng.uniform(0.5, 2) / line.duration_s + rng.uniform(0, 6))
    zero_v = 1.5 * np.sin(2 * np.pi * at_s * rng.uniform(0.5, 2) / line.duration_s + rng.uniform(0, 6))
    samples = convert(clean_v * height + zero_v, at_s, instrument, rng)
    return Recording(truth, instrument, line.duration_s, None, None, line.mark_first, samples, instrument.rate_hz)


def two_senders(kind: str, rng: np.random.Generator, plan: Plan) -> Recording:
    """Two machines one after the other, their speeds 6 to 40 % apart; the truth is two stretches. Exact edges."""
    plan.characters = max(plan.characters, 25)
    other = replace(plan, characters=int(rng.integers(25, 80)))
    faster = 1 + float(rng.uniform(0.06, 0.4)) * float(rng.choice([1, -1]))
    other.machine = replace(ordinary(rng).machine, unit_ms=plan.machine.unit_ms / faster)
    (first, first_truth), (second, second_truth) = carry_out(plan, kind), carry_out(other, kind)
    spans_s = [(0.0, first.duration_s), (first.duration_s, first.duration_s + second.duration_s)]
    edges_s = np.concatenate([first.edges_s, second.edges_s + first.duration_s])
    line = Line(edges_s, np.concatenate([first.mark_after, second.mark_after]), True, spans_s[1][1])
    return record(line, Stretches(kind, [first_truth, second_truth], spans_s), Instrument("edges"), rng)


HARD = {
    kind: HardWorld(kind, make)
    for kind, make in [
        ("third level while unplugged", unplugged),
        ("third level while resting", rests_lower),
        ("third level while loaded", loaded),
        ("inverted", inverted),
        ("inverted, no rest, begun inside", inverted_busy),
        ("chatter", chatter),
        ("bounce and dropouts", dirty),
        ("fading", fading),
        ("two senders", two_senders),
    ]
}
