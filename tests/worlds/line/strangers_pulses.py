"""Signals of pulses: by hand, by dial, by remote control, by wheels and by chance.

Ratios and speeds are the textbook's or the trade's, from memory; common practice, no source. No product's frame is
copied.
"""

import numpy as np

from worlds.line.strangers_serial import Facts, Stranger, from_bits, from_lengths
from worlds.line.transmitter import Line

MORSE = (
    ".-",
    "-...",
    "-.-.",
    "-..",
    ".",
    "..-.",
    "--.",
    "....",
    "..",
    ".---",
    "-.-",
    ".-..",
    "--",
    "-.",
    "---",
    ".--.",
    "--.-",
    ".-.",
    "...",
    "-",
)


def morse(rng: np.random.Generator, by_hand: bool) -> tuple[Line, Facts]:
    """Return Morse: dash three dots, gaps of one, three and seven; by hand each length scatters by a tenth or two."""
    dot_s, lengths, levels = 1.2 / float(rng.uniform(8, 30)), [], []
    for _ in range(int(rng.integers(30, 60))):
        for sign in MORSE[int(rng.integers(len(MORSE)))]:
            lengths += [1.0 if sign == "." else 3.0, 1.0]
            levels += [1, 0]
        lengths[-1] = 3.0 if rng.random() < 0.8 else 7.0
    scatter = float(rng.uniform(0.08, 0.25)) if by_hand else 0.002
    lengths_s = np.array(lengths) * dot_s * rng.lognormal(0, scatter, len(lengths))
    return from_lengths(np.append(1.0, lengths_s), np.append(0, levels)), {"dot_ms": dot_s * 1e3, "scatter": scatter}


def highs_and_lows(highs_s: np.ndarray, lows_s: np.ndarray) -> Line:
    """Return a line that is high and low in turn, with a low of 50 ms before."""
    pairs = np.column_stack([highs_s, lows_s]).ravel()
    return from_lengths(np.append(0.05, pairs), np.append(0, np.resize([1, 0], len(pairs))))


def servo(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Pulses of 1 to 2 ms every 20 ms, moving slowly."""
    n = int(rng.integers(100, 400))
    high_s = 1e-3 * (1.5 + 0.5 * np.sin(np.arange(n) / rng.uniform(10, 60)))
    return highs_and_lows(high_s, 0.02 - high_s), {"period_ms": 20.0}


def dimmer(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Pulse-width modulation of one frequency, its width in random steps."""
    period_s, n = 1 / float(rng.uniform(30, 500)), 400
    part = np.repeat(rng.uniform(0.05, 0.95, 20), 20)
    return highs_and_lows(part * period_s, (1 - part) * period_s), {"period_ms": period_s * 1e3, "periods": n}


def channels_in_turn(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Short pulses whose distances, 1 to 2 ms, carry eight channels; a long gap fills the frame to 22 ms."""
    frames = []
    for _ in range(int(rng.integers(40, 100))):
        gaps = rng.uniform(1.0, 2.0, 8)
        frames.append(np.append(gaps, 22 - np.sum(gaps)))
    gaps_s = np.concatenate(frames) * 1e-3
    return highs_and_lows(np.full(len(gaps_s), 0.3e-3), gaps_s - 0.3e-3), {"frame_ms": 22.0}


def mains(rng: np.random.Generator) -> tuple[Line, Facts]:
    """The mains cut square: 50 or 60 Hz, not quite symmetric."""
    hz, n = float(rng.choice([50.0, 60.0])) * float(rng.normal(1, 5e-4)), int(rng.integers(100, 1000))
    part = float(rng.uniform(0.4, 0.6))
    return highs_and_lows(np.full(n, part / hz), np.full(n, (1 - part) / hz)), {"hz": hz}


def remote_control(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Twelve or twenty-four bits, one part high and three low or the other way round; each word sent many times."""
    part_s, bits = float(rng.uniform(0.15e-3, 0.6e-3)), int(rng.choice([12, 24]))
    ones = rng.integers(0, 2, bits)
    high = np.append(1, np.where(ones, 3, 1))
    low = np.append(31, np.where(ones, 1, 3))
    times = int(rng.integers(8, 20))
    return highs_and_lows(np.tile(high, times) * part_s, np.tile(low, times) * part_s), {
        "part_ms": part_s * 1e3,
        "bits": bits,
    }


def dial(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Dialled digits: ten breaks a second, 60 to 40, 0.6 to 1.5 s between digits."""
    pulse_s, broken = 0.1 * float(rng.normal(1, 0.08)), float(rng.uniform(0.55, 0.67))
    lengths, levels = [1.0], [1]
    for digit in rng.integers(1, 11, int(rng.integers(7, 25))):
        lengths += [broken * pulse_s, (1 - broken) * pulse_s] * int(digit)
        levels += [0, 1] * int(digit)
        lengths[-1] += float(rng.uniform(0.6, 1.5))
    return from_lengths(np.array(lengths), np.array(levels)), {"pulse_ms": pulse_s * 1e3}


def poisson(rng: np.random.Generator) -> tuple[Line, Facts]:
    """The random telegraph: a change at any moment, as likely as at any other."""
    mean_s, n = float(np.exp(rng.uniform(np.log(1e-3), np.log(0.1)))), int(rng.integers(200, 1000))
    return from_lengths(rng.exponential(mean_s, n), np.resize([1, 0], n)), {"mean_ms": mean_s * 1e3}


def clicks(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Short pulses of one length at random moments, as of a counter of rays."""
    mean_s, n = float(rng.uniform(0.01, 0.2)), int(rng.integers(100, 400))
    return highs_and_lows(np.full(n, 0.2e-3), 0.1e-3 + rng.exponential(mean_s, n)), {"mean_ms": mean_s * 1e3}


def infrared(rng: np.random.Generator) -> tuple[Line, Facts]:
    """A long pulse, a gap, 32 short pulses with gaps of one or three parts, every 0.11 s; carrier taken off."""
    part_s, highs, lows = 0.5625e-3 * float(rng.normal(1, 0.03)), [], []
    for _ in range(int(rng.integers(4, 15))):
        gaps = np.where(rng.integers(0, 2, 32), 3, 1)
        highs += [16, *np.ones(33)]
        lows += [8, *gaps, 195 - 16 - 8 - 33 - int(np.sum(gaps))]
    return highs_and_lows(np.array(highs) * part_s, np.array(lows) * part_s), {"part_ms": part_s * 1e3}


def infrared_phase(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Frames of fourteen phase-coded bits, 0.11 s apart, for as long as the key is held."""
    half_s, bits = 0.889e-3 * float(rng.normal(1, 0.03)), []
    for _ in range(int(rng.integers(10, 30))):
        word = np.append([1, 1], rng.integers(0, 2, 12))
        bits += [*np.column_stack([1 - word, word]).ravel(), *np.zeros(100)]
    return from_bits(np.array(bits), half_s, 0.01, False), {"half_ms": half_s * 1e3}


def tooth_wheel(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Pulses of a toothed wheel with one tooth missing, the speed rising and each edge scattering."""
    teeth, turns = int(rng.choice([12, 24, 36])), 20
    index = np.concatenate([np.arange(teeth - 1) + teeth * turn for turn in range(turns)])
    at_s = np.sqrt(index / teeth + 1) * float(rng.uniform(0.3, 2))
    at_s = at_s + rng.normal(0, 0.02, len(at_s)) * np.min(np.diff(at_s))
    gaps_s = np.diff(at_s)
    high_s = np.minimum(gaps_s, np.median(gaps_s)) * 0.5
    return highs_and_lows(high_s, gaps_s - high_s), {"teeth": teeth}


def steady_pulses(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Pulses of one period and width, both with jitter."""
    period_s, part, n = float(rng.uniform(2e-3, 0.3)), float(rng.uniform(0.05, 0.95)), int(rng.integers(100, 500))
    jitter = period_s * min(part, 1 - part) * float(rng.uniform(0.001, 0.2))
    high_s = np.clip(part * period_s + rng.normal(0, jitter, n), 0.2 * part * period_s, None)
    low_s = np.clip((1 - part) * period_s + rng.normal(0, jitter, n), 0.2 * (1 - part) * period_s, None)
    return highs_and_lows(high_s, low_s), {"period_ms": period_s * 1e3, "part": part}


def step_motor(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Steps that speed up, run and slow down again, several times."""
    top_hz, periods = float(rng.uniform(100, 1000)), []
    for _ in range(4):
        ramp = np.linspace(0.1, 1, 40)
        periods += [*(1 / (top_hz * ramp)), *np.full(60, 1 / top_hz), *(1 / (top_hz * ramp[::-1])), 0.3]
    return highs_and_lows(np.full(len(periods), 0.2 / top_hz), np.array(periods) - 0.2 / top_hz), {"top_hz": top_hz}


def push_button(rng: np.random.Generator) -> tuple[Line, Facts]:
    """A button pressed by a finger, each press and release with a burst of bounce."""
    lengths, levels = [1.0], [0]
    for _ in range(int(rng.integers(20, 40))):
        for level in (1, 0):
            bounce = rng.exponential(0.4e-3, 2 * int(rng.integers(0, 6)))
            lengths += [*bounce, float(rng.lognormal(np.log(0.2), 0.4))]
            levels += [*(level ^ (np.arange(len(bounce)) % 2)), level]
    return from_lengths(np.array(lengths), np.array(levels)), {"press_ms": "about 200"}


def picture_signal(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Letters as pictures: columns of fourteen half-dots at 245 a second; no black dot is shorter than two."""
    dot_s, rows = 1 / 245.0 * float(rng.normal(1, 0.01)), []
    for _ in range(int(rng.integers(15, 40))):
        column = np.repeat(rng.random((5, 7)) < 0.4, 2, axis=1)
        rows += [column.ravel(), np.zeros(28, bool)]
    return from_bits(np.concatenate(rows), dot_s, 0.1, False), {"half_dot_ms": dot_s * 1e3}


def time_signal(rng: np.random.Generator) -> tuple[Line, Facts]:
    """A pulse of 0.1 or 0.2 s at every second, none at the last of a minute."""
    high_s = np.where(rng.random(118) < 0.5, 0.1, 0.2) * rng.normal(1, 0.02, 118)
    low_s = 1 - high_s
    low_s[58] += 1
    return highs_and_lows(high_s, low_s), {"period_ms": 1000.0}


def buzzer(rng: np.random.Generator) -> tuple[Line, Facts]:
    """A relay that interrupts itself, in bursts; on and off times scatter a little."""
    hz, on, off = float(rng.uniform(20, 120)), [], []
    for _ in range(8):
        n = int(rng.integers(10, 60))
        on += [*(0.45 / hz * rng.normal(1, 0.03, n))]
        off += [*(0.55 / hz * rng.normal(1, 0.03, n))]
        off[-1] += float(rng.uniform(0.2, 1))
    return highs_and_lows(np.array(on), np.array(off)), {"hz": hz}


PULSES: dict[str, Stranger] = {
    "Morse by hand": lambda rng: morse(rng, by_hand=True),
    "Morse by machine": lambda rng: morse(rng, by_hand=False),
    "servo pulses": servo,
    "dimmer": dimmer,
    "channels in turn": channels_in_turn,
    "mains, square": mains,
    "remote control, keyed carrier": remote_control,
    "dialled digits": dial,
    "random telegraph": poisson,
    "clicks": clicks,
    "infrared, pulse distance": infrared,
    "infrared, phase": infrared_phase,
    "toothed wheel": tooth_wheel,
    "steady pulses with jitter": steady_pulses,
    "step motor": step_motor,
    "push button": push_button,
    "picture signal": picture_signal,
    "time signal": time_signal,
    "buzzer": buzzer,
}
