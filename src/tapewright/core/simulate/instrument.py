r"""What an instrument makes of a line: samples, with all its sins.

The way of the signal, in this order:

    line > two volts (or inverted) > slow edges > hum, noise > AC coupling > clipping > bits
           sampled by a clock that may be fast, samples lost now and then

Slow edges are the exact solution of one time constant towards mark and one towards space; with `anti_alias` the
signal is made eight times as fine and then limited in bandwidth, as sound cards do. AC coupling of order n is n
equal high-pass sections that take a step exactly as exp(-2 pi f t) does (step-invariant).

A clock `clock_ppm` fast takes its samples too soon: what lasts T seconds is shown as T (1 + ppm 1e-6).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from tapewright.core.simulate.line_signal import LineSignal
from tapewright.core.simulate.spans import BoolArray, FloatArray

IndexArray = npt.NDArray[np.int_]

OVERSAMPLING = 8
#: half length of the band limit's impulse response, in samples
REACH = 16
#: after so many time constants an edge is over
SETTLED = 40
CHUNK = 1 << 19


@dataclass(frozen=True, slots=True)
class Instrument:
    """A logic analyser, an oscilloscope or a sound card.

    Attributes:
        rate_hz: sample rate as the instrument believes it.
        space_v: level at space.
        mark_v: level at mark.
        inverted: True when it is connected the wrong way round.
        rise_s: time constant towards mark.
        fall_s: time constant towards space.
        noise_v: standard deviation of the noise.
        hum_v: amplitude of the mains hum.
        hum_hz: its frequency.
        ac_hz: corner of the AC coupling, 0 for none.
        ac_order: how many such sections follow each other.
        anti_alias: True when the bandwidth is limited to half the rate.
        clip_v: lowest and highest voltage, None for no clipping.
        bits: 8, 16 or another number for quantisation over +/- `full_scale_v`; None for none.
        full_scale_v: half the range of the converter.
        clock_ppm: how fast its clock is, parts per million.
        drops: how often samples are lost.
        drop_samples: how many are lost each time.
        threshold_v: where a logic input decides.
    """

    rate_hz: float
    space_v: float = 0.0
    mark_v: float = 5.0
    inverted: bool = False
    rise_s: float = 0.0
    fall_s: float = 0.0
    noise_v: float = 0.0
    hum_v: float = 0.0
    hum_hz: float = 50.0
    ac_hz: float = 0.0
    ac_order: int = 1
    anti_alias: bool = False
    clip_v: tuple[float, float] | None = None
    bits: int | None = None
    full_scale_v: float = 10.0
    clock_ppm: float = 0.0
    drops: int = 0
    drop_samples: int = 20
    threshold_v: float = 2.5

    @property
    def true_rate_hz(self) -> float:
        """Samples it takes in a true second."""
        return self.rate_hz * (1 + 1e-6 * self.clock_ppm)


def sample_count(line: LineSignal, instrument: Instrument) -> int:
    """Number of samples of a whole recording, before any are lost."""
    return int((line.end_s - line.begin_s) * instrument.true_rate_hz)


def record(line: LineSignal, instrument: Instrument, generator: np.random.Generator) -> FloatArray:
    """Give the whole recording in volts, shape (n,)."""
    return np.concatenate([np.empty(0), *record_in_pieces(line, instrument, generator)])


def record_in_pieces(
    line: LineSignal, instrument: Instrument, generator: np.random.Generator, piece: int = CHUNK
) -> Iterator[FloatArray]:
    """Give the recording in volts piece by piece, each at most `piece` samples; the pieces make one recording."""
    n = sample_count(line, instrument)
    slow = _SlowLine.of(line, instrument)
    coupling = _Coupling(instrument, slow.begun_v[:1])
    lost = _lost_samples(n, instrument, generator)
    phase = generator.uniform(0, 2 * np.pi)
    for first in range(0, n, piece):
        index = np.arange(first, min(first + piece, n))
        volts = slow.sampled(first, index.size, line.begin_s, instrument)
        if instrument.hum_v:
            true_s = line.begin_s + index / instrument.true_rate_hz
            volts += instrument.hum_v * np.sin(2 * np.pi * instrument.hum_hz * true_s + phase)
        if instrument.noise_v:
            volts += generator.normal(0.0, instrument.noise_v, index.size)
        volts = coupling.through(volts)
        if instrument.clip_v:
            volts = np.clip(volts, *instrument.clip_v)
        yield quantised(volts, instrument)[~np.isin(index, lost)] if lost.size else quantised(volts, instrument)


def record_logic(line: LineSignal, instrument: Instrument, generator: np.random.Generator) -> BoolArray:
    """Give the recording of a logic input: True where the voltage is above the threshold, shape (n,)."""
    if instrument.noise_v or instrument.hum_v or instrument.ac_hz or instrument.anti_alias:
        return record(line, instrument, generator) > instrument.threshold_v
    n = sample_count(line, instrument)
    times, starts_high = threshold_crossings(line, instrument)
    at = np.clip(np.ceil((times - line.begin_s) * instrument.true_rate_hz).astype(int), 0, n)
    lengths = np.diff(np.concatenate([[0], at, [n]]))
    high = np.repeat((np.arange(lengths.size) % 2 == 0) == starts_high, lengths)
    return np.delete(high, _lost_samples(n, instrument, generator))


def record_edges(line: LineSignal, instrument: Instrument) -> tuple[FloatArray, BoolArray, bool]:
    """Give what an instrument stores that keeps only changes: times on its own clock, level after, first level.

    A change is stored with the time of the first sample that shows it; what is over between two samples is lost.
    """
    times, starts_high = threshold_crossings(line, instrument)
    ticks = np.ceil((times - line.begin_s) * instrument.true_rate_hz)
    high = (np.arange(ticks.size) % 2 == 1) == starts_high
    last = np.append(ticks[1:] != ticks[:-1], True) if ticks.size else np.empty(0, dtype=bool)
    ticks, high = ticks[last], high[last]
    changed = np.append(starts_high, high)
    kept = changed[1:] != changed[:-1]
    return ticks[kept] / instrument.rate_hz, high[kept], starts_high


def threshold_crossings(line: LineSignal, instrument: Instrument) -> tuple[FloatArray, bool]:
    """Give the true instants at which the slow voltage crosses the threshold, and whether it begins above it."""
    slow = _SlowLine.of(line, instrument)
    starts_high = bool(slow.begun_v[0] > instrument.threshold_v)
    if not line.times_s.size:
        return np.empty(0), starts_high
    ends = np.append(line.times_s[1:], line.end_s)
    target, begun, tau = slow.target_v[1:], slow.begun_v[1:], slow.tau_s[1:]
    past = (target > instrument.threshold_v) != (begun > instrument.threshold_v)
    with np.errstate(divide="ignore", invalid="ignore"):
        wait = tau * np.log((target - begun) / (target - instrument.threshold_v))
    crossed = line.times_s + np.where(tau > 0, wait, 0.0)
    return crossed[past & (crossed < ends)], starts_high


@dataclass(frozen=True, slots=True, eq=False)
class _SlowLine:
    """The line with slow edges: after change i the voltage runs from begun_v towards target_v with tau_s."""

    times_s: FloatArray
    target_v: FloatArray
    begun_v: FloatArray
    tau_s: FloatArray

    @classmethod
    def of(cls, line: LineSignal, instrument: Instrument) -> "_SlowLine":
        marks = np.append(line.starts_mark, line.mark_after)
        high, low = instrument.mark_v, instrument.space_v
        if instrument.inverted:
            high, low = low, high
        target = np.where(marks, high, low).astype(float)
        tau = np.where(marks, instrument.rise_s, instrument.fall_s).astype(float)
        times = np.append(line.begin_s, line.times_s)
        begun = target.copy()
        level = float(target[0])
        for n in range(1, times.size):
            level = _towards(float(target[n - 1]), level, times[n] - times[n - 1], float(tau[n - 1]))
            begun[n] = level
        return cls(times, target, begun, tau)

    def on_grid(self, first_s: float, step_s: float, n: int) -> FloatArray:
        """Give the voltage at first_s + step_s * (0 .. n - 1), true time."""
        begin = np.ceil((self.times_s - first_s) / step_s - 1e-9)
        begin = np.clip(begin, 0, n).astype(int)
        begin[0] = 0
        lengths = np.diff(np.append(begin, n))
        volts = np.repeat(self.target_v, lengths)
        # only the first few time constants after a change differ from the target
        slow = np.minimum(lengths, np.ceil(SETTLED * self.tau_s / step_s).astype(int))
        which = np.repeat(np.arange(slow.size), slow)
        place = begin[which] + np.arange(which.size) - np.repeat(np.cumsum(slow) - slow, slow)
        passed = np.maximum(first_s + step_s * place - self.times_s[which], 0.0)
        volts[place] += (self.begun_v - self.target_v)[which] * np.exp(-passed / self.tau_s[which])
        return volts

    def _spread_jumps(self, volts: FloatArray, first_s: float, step_s: float) -> None:
        """Give each sudden change its exact place: the sample it falls on takes the mean of its own stretch."""
        place = (self.times_s[1:] - first_s) / step_s
        at = np.round(place).astype(int)
        # begun_v is the level just before the change
        jump = np.where(self.tau_s[1:] == 0, self.target_v[1:] - self.begun_v[1:], 0.0)
        here = (at >= 0) & (at < volts.size)
        share = 0.5 + (at - place) - (at >= place - 1e-9)
        np.add.at(volts, at[here], (jump * share)[here])

    def sampled(self, first: int, n: int, begin_s: float, instrument: Instrument) -> FloatArray:
        """Give the voltage at the samples first .. first + n - 1, limited in bandwidth if wanted."""
        step_s = 1 / instrument.true_rate_hz
        if not instrument.anti_alias:
            return self.on_grid(begin_s + first * step_s, step_s, n)
        from scipy.signal import upfirdn

        half = REACH * OVERSAMPLING
        begin_s, step_s = begin_s + (first - REACH) * step_s, step_s / OVERSAMPLING
        fine = self.on_grid(begin_s, step_s, n * OVERSAMPLING + 2 * half)
        self._spread_jumps(fine, begin_s, step_s)
        return np.asarray(upfirdn(_band_limit(), fine, down=OVERSAMPLING)[2 * REACH : 2 * REACH + n], dtype=float)


@cache
def _band_limit() -> FloatArray:
    from scipy.signal import firwin

    return np.asarray(firwin(2 * REACH * OVERSAMPLING + 1, 0.92 / OVERSAMPLING, window=("kaiser", 8.0)))


class _Coupling:
    """AC coupling that remembers its state from piece to piece; before the recording it had settled."""

    def __init__(self, instrument: Instrument, first_v: FloatArray) -> None:
        # state of a section at rest: minus its input, which for all sections but the first is zero
        self._keeps = float(np.exp(-2 * np.pi * instrument.ac_hz / instrument.true_rate_hz))
        self._state = [-first_v] + [np.zeros(1) for _ in range(instrument.ac_order - 1)]
        self._on = instrument.ac_hz > 0

    def through(self, volts: FloatArray) -> FloatArray:
        if not self._on:
            return volts
        from scipy.signal import lfilter

        for section, state in enumerate(self._state):
            volts, self._state[section] = lfilter([1.0, -1.0], [1.0, -self._keeps], volts, zi=state)
        return volts


def _towards(target: float, begun: float, passed_s: float, tau_s: float) -> float:
    return target + (begun - target) * float(np.exp(-passed_s / tau_s)) if tau_s > 0 else target


def quantised(volts: FloatArray, instrument: Instrument) -> FloatArray:
    """Give the voltages that a converter of that many bits can tell, limited to its range."""
    if instrument.bits is None:
        return volts
    steps = 2 ** (instrument.bits - 1)
    step_v = instrument.full_scale_v / steps
    return np.asarray(np.clip(np.round(volts / step_v), -steps, steps - 1) * step_v)


def _lost_samples(n: int, instrument: Instrument, generator: np.random.Generator) -> IndexArray:
    if not instrument.drops or n <= instrument.drop_samples:
        return np.empty(0, dtype=int)
    begin = generator.integers(0, n - instrument.drop_samples, instrument.drops)
    return np.unique(begin[:, None] + np.arange(instrument.drop_samples))
