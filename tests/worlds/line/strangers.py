"""Signals that are not a five-unit start-stop line: over fifty kinds, any number of draws of each.

    recording = STRANGERS["Morse by hand"](5)               # edge times
    recording = STRANGERS["Morse by hand"](5, "logic")      # or by an instrument
    recording = STRANGERS["two-tone bursts"](5)             # tones and noise are always samples, in volts

`recording.truth` is a `StrangerTruth`: kind, facts, five_unit False. A few draws may by chance look like five units
(six elements of which the last is always a mark, say): what cannot be told apart by anybody is no fault of who reads
it, but with 30 and more random characters the chance is nil.
"""

from collections.abc import Callable
from dataclasses import dataclass
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from worlds.line.instrument import Instrument, Recording, draw_instrument, record
from worlds.line.strangers_clocked import CLOCKED
from worlds.line.strangers_pulses import PULSES
from worlds.line.strangers_serial import SERIAL, Facts, Stranger
from worlds.line.truth import StrangerTruth

Floats = NDArray[np.float64]
Tone = Callable[[np.random.Generator, Floats], tuple[Floats, Facts]]
ROWS_HZ, COLUMNS_HZ = (697.0, 770.0, 852.0, 941.0), (1209.0, 1336.0, 1477.0, 1633.0)  # ITU-T Q.23, from memory


def sine(rng: np.random.Generator, t_s: Floats) -> tuple[Floats, Facts]:
    """One steady tone of 5 to 300 Hz."""
    hz = float(np.exp(rng.uniform(np.log(5), np.log(300))))
    return np.sin(2 * np.pi * hz * t_s), {"hz": hz}


def chirp(rng: np.random.Generator, t_s: Floats) -> tuple[Floats, Facts]:
    """A tone that rises from 2 to 400 Hz or so."""
    low_hz, high_hz = float(rng.uniform(1, 5)), float(rng.uniform(200, 600))
    slope = (high_hz - low_hz) / t_s[-1]
    return np.sin(2 * np.pi * (low_hz * t_s + slope * t_s**2 / 2)), {"low_hz": low_hz, "high_hz": high_hz}


def two_tone_bursts(rng: np.random.Generator, t_s: Floats) -> tuple[Floats, Facts]:
    """Digits as two tones at once, 50 to 120 ms long."""
    on_s, volts = float(rng.uniform(0.05, 0.12)), np.zeros(len(t_s))
    for i in range(int(t_s[-1] / on_s / 2)):
        inside = (t_s >= 2 * i * on_s) & (t_s < (2 * i + 1) * on_s)
        for hz in (rng.choice(ROWS_HZ), rng.choice(COLUMNS_HZ)):
            volts[inside] += 0.5 * np.sin(2 * np.pi * hz * t_s[inside])
    return volts, {"on_ms": on_s * 1e3}


def white_noise(rng: np.random.Generator, t_s: Floats) -> tuple[Floats, Facts]:
    """Gaussian noise."""
    return rng.normal(0, 0.3, len(t_s)), {}


def uniform_noise(rng: np.random.Generator, t_s: Floats) -> tuple[Floats, Facts]:
    """Samples of which each value is as likely as the next, like data read as sound."""
    return rng.uniform(-1, 1, len(t_s)), {}


def slow_noise(rng: np.random.Generator, t_s: Floats) -> tuple[Floats, Facts]:
    """Noise of low frequencies: an open input that picks up whatever moves."""
    width = int(rng.integers(20, 400))
    volts = np.convolve(rng.normal(0, 1, len(t_s) + width - 1), np.hanning(width), "valid")
    return volts / np.max(np.abs(volts)), {"samples_wide": width}


def open_input(rng: np.random.Generator, t_s: Floats) -> tuple[Floats, Facts]:
    """Mains hum with harmonics and noise, and no signal."""
    hz = float(rng.choice([50.0, 60.0]))
    volts = sum(rng.normal(0, 0.3 / h) * np.sin(2 * np.pi * h * hz * t_s + rng.uniform(0, 6)) for h in (1, 2, 3, 5, 7))
    return 0.5 * volts + rng.normal(0, 0.02, len(t_s)), {"hz": hz}


def swelling_tone(rng: np.random.Generator, t_s: Floats) -> tuple[Floats, Facts]:
    """A tone whose strength is modulated."""
    hz, swell_hz = float(rng.uniform(200, 1500)), float(rng.uniform(1, 20))
    return np.sin(2 * np.pi * hz * t_s) * (0.5 + 0.5 * np.sin(2 * np.pi * swell_hz * t_s)), {
        "hz": hz,
        "swell_hz": swell_hz,
    }


def two_frequencies(rng: np.random.Generator, t_s: Floats) -> tuple[Floats, Facts]:
    """A tone that jumps between two frequencies at random, synchronous bits, phase continuous."""
    low_hz, shift_hz, bit_s = (
        float(rng.uniform(800, 2000)),
        float(rng.choice([85, 170, 450, 850])),
        1 / float(rng.choice([100, 300, 1200])),
    )
    bits = rng.integers(0, 2, int(t_s[-1] / bit_s) + 1)
    hz = low_hz + shift_hz * bits[np.minimum((t_s / bit_s).astype(int), len(bits) - 1)]
    return np.sin(2 * np.pi * np.cumsum(hz) * (t_s[1] - t_s[0])), {
        "low_hz": low_hz,
        "shift_hz": shift_hz,
        "bit_ms": bit_s * 1e3,
    }


def staircase(rng: np.random.Generator, t_s: Floats) -> tuple[Floats, Facts]:
    """Eight levels in turn, or at random."""
    step_s = float(rng.uniform(0.005, 0.1))
    index = (t_s / step_s).astype(int)
    levels = index % 8 if rng.random() < 0.5 else rng.integers(0, 8, int(index[-1]) + 1)[index]
    return levels / 7.0, {"step_ms": step_s * 1e3}


def sawtooth(rng: np.random.Generator, t_s: Floats) -> tuple[Floats, Facts]:
    """A capacitor charged slowly and discharged at once."""
    hz = float(rng.uniform(3, 80))
    return 1 - np.exp(-2 * ((t_s * hz) % 1)), {"hz": hz}


def murmur(rng: np.random.Generator, t_s: Floats) -> tuple[Floats, Facts]:
    """Bursts of noise in three bands, a few a second, like a voice behind a door."""
    knots_s = np.arange(0, t_s[-1] + 1, 0.15)
    strength = np.clip(np.interp(t_s, knots_s, rng.normal(0.2, 0.5, len(knots_s))), 0, None)
    volts = np.zeros(len(t_s))
    for hz in (float(rng.uniform(300, 700)), float(rng.uniform(900, 1600)), float(rng.uniform(2000, 2800))):
        volts += np.sin(2 * np.pi * hz * t_s + np.cumsum(rng.normal(0, 0.3, len(t_s))))
    return volts * strength / 3, {}


TONES: dict[str, Tone] = {
    "sine": sine,
    "chirp": chirp,
    "two-tone bursts": two_tone_bursts,
    "white noise": white_noise,
    "uniform noise": uniform_noise,
    "slow noise": slow_noise,
    "open input": open_input,
    "swelling tone": swelling_tone,
    "two frequencies": two_frequencies,
    "staircase": staircase,
    "sawtooth": sawtooth,
    "murmur": murmur,
}


@dataclass(frozen=True)
class StrangeWorld:
    """A named kind of signal; `of_steps` changes between two levels, `tone` is a voltage."""

    kind: str
    of_steps: Stranger | None = None
    tone: Tone | None = None

    def __call__(self, seed: int, instrument: str | Instrument = "edges") -> Recording:
        """Draw one recording."""
        rng = np.random.default_rng([crc32(self.kind.encode()), seed])
        if self.of_steps:
            line, facts = self.of_steps(rng)
            if isinstance(instrument, str):
                instrument = draw_instrument(instrument, rng, line.duration_s)
            return record(line, StrangerTruth(self.kind, facts), instrument, rng)
        assert self.tone is not None
        rate_hz, duration_s = float(rng.choice([4000.0, 8000.0, 22050.0])), float(rng.uniform(5, 15))
        volts, facts = self.tone(rng, np.arange(int(rate_hz * duration_s)) / rate_hz)
        volts = volts * float(rng.uniform(0.2, 5)) + rng.normal(0, 1e-3, len(volts))
        return Recording(
            StrangerTruth(self.kind, facts), Instrument("volts", rate_hz), duration_s, None, None, True, volts, rate_hz
        )


STRANGERS = {
    **{kind: StrangeWorld(kind, of_steps=make) for kind, make in {**SERIAL, **CLOCKED, **PULSES}.items()},
    **{kind: StrangeWorld(kind, tone=make) for kind, make in TONES.items()},
}
