r"""What an instrument makes of a line: samples, with all its sins.

The way of the signal, in this order:

    line > two volts (or inverted) > slow edges > hum, noise > AC coupling > clipping > bits
           sampled by a clock that may be fast, samples lost now and then

A clock `clock_ppm` fast takes its samples too soon: what lasts T seconds is shown as T (1 + ppm 1e-6).

AC coupling: equal high-pass sections that take a step exactly as exp(-2 pi f t) does (step-invariant).

y[n] = x[n] - x[n-1] + exp(-2 pi f / rate) y[n-1]
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from tapewright.practice.line_signal import BoolArray, FloatArray, LineSignal
from tapewright.practice.slow_edges import SlowLine


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


IndexArray = npt.NDArray[np.int_]
_Value = TypeVar("_Value", bound=np.generic)

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

    def voltage_of(self, line: LineSignal) -> SlowLine:
        """Return the voltage that the line has at the instrument's input."""
        mark, space = (self.space_v, self.mark_v) if self.inverted else (self.mark_v, self.space_v)
        return SlowLine.of(line, mark, space, self.rise_s, self.fall_s)


def sample_count(line: LineSignal, instrument: Instrument) -> int:
    """Number of samples of a whole recording, before any are lost."""
    return int((line.end_s - line.begin_s) * instrument.true_rate_hz)


def kept_count(line: LineSignal, instrument: Instrument, generator: np.random.Generator) -> int:
    """Number of samples that are left when some are lost; takes what chance a recording takes first."""
    n = sample_count(line, instrument)
    return n - _lost_samples(n, instrument, generator).size


def record(line: LineSignal, instrument: Instrument, generator: np.random.Generator) -> FloatArray:
    """Return the whole recording in volts, shape (n,)."""
    return np.concatenate([np.empty(0), *record_in_pieces(line, instrument, generator)])


def record_in_pieces(
    line: LineSignal, instrument: Instrument, generator: np.random.Generator, piece: int = CHUNK
) -> Iterator[FloatArray]:
    """Return the recording in volts piece by piece, each at most `piece` samples; the pieces make one recording."""
    n, step_s = sample_count(line, instrument), 1 / instrument.true_rate_hz
    slow = instrument.voltage_of(line)
    sampled = slow.band_limited if instrument.anti_alias else slow.on_grid
    coupling = Coupling(instrument.ac_hz, instrument.ac_order, instrument.true_rate_hz, float(slow.begun_v[0]))
    lost = _lost_samples(n, instrument, generator)
    phase = generator.uniform(0, 2 * np.pi)
    for first in range(0, n, piece):
        index = np.arange(first, min(first + piece, n))
        volts = sampled(line.begin_s + first * step_s, step_s, index.size)
        if instrument.hum_v:
            volts += instrument.hum_v * np.sin(2 * np.pi * instrument.hum_hz * index * step_s + phase)
        if instrument.noise_v:
            volts += generator.normal(0.0, instrument.noise_v, index.size)
        volts = coupling.through(volts)
        if instrument.clip_v:
            volts = np.clip(volts, *instrument.clip_v)
        yield _kept(quantised(volts, instrument), index, lost)


def record_logic(line: LineSignal, instrument: Instrument, generator: np.random.Generator) -> BoolArray:
    """Return the recording of a logic input: True where the voltage is above the threshold, shape (n,)."""
    return np.concatenate([np.empty(0, dtype=bool), *record_logic_in_pieces(line, instrument, generator)])


def record_logic_in_pieces(
    line: LineSignal, instrument: Instrument, generator: np.random.Generator, piece: int = CHUNK
) -> Iterator[BoolArray]:
    """Return the recording of a logic input piece by piece."""
    if instrument.noise_v or instrument.hum_v or instrument.ac_hz or instrument.anti_alias:
        for volts in record_in_pieces(line, instrument, generator, piece):
            yield volts > instrument.threshold_v
        return
    n = sample_count(line, instrument)
    times, starts_high = threshold_crossings(line, instrument)
    ticks = np.ceil((times - line.begin_s) * instrument.true_rate_hz).astype(int)
    lost = _lost_samples(n, instrument, generator)
    for first in range(0, n, piece):
        index = np.arange(first, min(first + piece, n))
        before, after = np.searchsorted(ticks, [first, first + index.size])
        lengths = np.diff(np.concatenate([[0], ticks[before:after] - first, [index.size]]))
        changes = before + np.arange(lengths.size)
        yield _kept(np.repeat((changes % 2 == 0) == starts_high, lengths), index, lost)


def record_edges(line: LineSignal, instrument: Instrument) -> tuple[FloatArray, BoolArray, bool]:
    """Return what an instrument stores that keeps only changes: times on its own clock, level after, first level.

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
    """Return the true instants at which the slow voltage crosses the threshold, and whether it begins above it."""
    slow = instrument.voltage_of(line)
    return slow.crossings(instrument.threshold_v, line.end_s), bool(slow.begun_v[0] > instrument.threshold_v)


def quantised(volts: FloatArray, instrument: Instrument) -> FloatArray:
    """Return the voltages that a converter of that many bits can tell, limited to its range."""
    if instrument.bits is None:
        return volts
    steps = 2 ** (instrument.bits - 1)
    step_v = instrument.full_scale_v / steps
    return np.asarray(np.clip(np.round(volts / step_v), -steps, steps - 1) * step_v)


def _kept(values: npt.NDArray[_Value], index: IndexArray, lost: IndexArray) -> npt.NDArray[_Value]:
    return values[~np.isin(index, lost)] if lost.size else values


def _lost_samples(n: int, instrument: Instrument, generator: np.random.Generator) -> IndexArray:
    if not instrument.drops or n <= instrument.drop_samples:
        return np.empty(0, dtype=int)
    begin = generator.integers(0, n - instrument.drop_samples, instrument.drops)
    return np.unique(begin[:, None] + np.arange(instrument.drop_samples))
