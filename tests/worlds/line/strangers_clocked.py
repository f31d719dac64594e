"""Signals that keep time by a clock of their own: phase codes, synchronous data, buses, time code.

Each rule is the textbook's one, written from memory; no product's frame is copied.
"""

import numpy as np

from worlds.line.strangers_serial import Facts, Stranger, from_bits, from_lengths
from worlds.line.transmitter import Line

CLOCKS_BD = (50.0, 100.0, 200.0, 600.0, 1200.0, 2400.0, 9600.0, 1e5)


def clock_s(rng: np.random.Generator) -> float:
    """Draw the length of a bit."""
    return 1 / (float(rng.choice(CLOCKS_BD)) * float(rng.normal(1, 0.01)))


def manchester(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Every bit is 01 or 10."""
    bit_s, bits = clock_s(rng), rng.integers(0, 2, int(rng.integers(100, 400)))
    return from_bits(np.column_stack([1 - bits, bits]).ravel(), bit_s / 2, 10 * bit_s), {"bit_ms": bit_s * 1e3}


def biphase(bits: np.ndarray, half_s: float) -> Line:
    """Return a change at every bit's begin, and one in the middle of every 1."""
    level, levels = 0, []
    for bit in bits:
        level ^= 1
        levels.append(level)
        level ^= int(bit)
        levels.append(level)
    return from_bits(np.array(levels), half_s)


def differential_manchester(rng: np.random.Generator) -> tuple[Line, Facts]:
    """A change in the middle of every bit; one at its begin for a 0."""
    bit_s, bits = clock_s(rng), rng.integers(0, 2, int(rng.integers(100, 400)))
    return biphase(bits, bit_s / 2), {"bit_ms": bit_s * 1e3}


def time_code(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Biphase frames of 80 bits, each with a counted number and a fixed word at its end, 24 to 30 a second."""
    frames_hz = float(rng.choice([24, 25, 30]))
    number, word = int(rng.integers(0, 1 << 30)), [0, 0] + [1] * 12 + [0, 1]
    bits = [bit for i in range(6) for bit in [*(((number + i) >> np.arange(64)) & 1), *word]]
    return biphase(np.array(bits), 1 / frames_hz / 160), {"frames_per_s": frames_hz}


def synchronous(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Random bits without any frame."""
    bit_s = clock_s(rng)
    return from_bits(rng.integers(0, 2, int(rng.integers(200, 800))), bit_s), {"bit_ms": bit_s * 1e3}


def five_unit_synchronous(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Five-unit codes end to end, without start and stop."""
    bit_s, codes = clock_s(rng), rng.integers(0, 32, 120)
    return from_bits(((codes[:, None] >> np.arange(5)) & 1).ravel(), bit_s), {"bit_ms": bit_s * 1e3}


def constant_ratio(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Seven bits of which three are marks, synchronous, in blocks of three characters with a pause for the answer."""
    bit_s, rows = 1 / float(rng.choice([100.0, 102.85, 192.0])), []
    for _ in range(int(rng.integers(20, 50))):
        for _ in range(3):
            row = np.zeros(7)
            row[rng.choice(7, 3, replace=False)] = 1
            rows.append(row)
        rows.append(np.zeros(24))
    return from_bits(np.concatenate(rows), bit_s, 0.0, False), {"bit_ms": bit_s * 1e3}


def stuffed(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Frames between flags 01111110, a 0 after five ones, a change of level for every 0."""
    bit_s, level, levels = clock_s(rng), 1, []
    for _ in range(8):
        body, ones = [], 0
        for bit in rng.integers(0, 2, 64):
            body.append(int(bit))
            ones = ones + 1 if bit else 0
            if ones == 5:
                body.append(0)
                ones = 0
        for bit in [0, 1, 1, 1, 1, 1, 1, 0, *body]:
            level ^= 1 - bit
            levels.append(level)
    return from_bits(np.array(levels), bit_s), {"bit_ms": bit_s * 1e3}


def shift_register(rng: np.random.Generator) -> tuple[Line, Facts]:
    """A maximal sequence of a nine-stage shift register, x^9 + x^4 + 1, over and over."""
    bit_s, state, bits = clock_s(rng), int(rng.integers(1, 512)), []
    for _ in range(700):
        bit = ((state >> 8) ^ (state >> 3)) & 1
        state = ((state << 1) | bit) & 511
        bits.append(bit)
    return from_bits(np.array(bits), bit_s), {"bit_ms": bit_s * 1e3, "repeats_after_bits": 511}


def bus_words(rng: np.random.Generator, clock_line: bool) -> tuple[Line, Facts]:
    """Return words of eight bits with pauses: the data line, or the clock line with two halves a bit."""
    bit_s, levels, lengths = clock_s(rng), [], []
    for _ in range(int(rng.integers(20, 60))):
        word = rng.integers(0, 2, 8)
        levels += [0, 1] * 8 if clock_line else [int(bit) for bit in word for _ in range(2)]
        lengths += [bit_s / 2] * 16
        levels.append(0 if clock_line else int(word[-1]))
        lengths.append(bit_s * float(rng.uniform(2, 20)))
    return from_lengths(np.array(lengths), np.array(levels)), {"bit_ms": bit_s * 1e3}


def two_wires(rng: np.random.Generator, clock_line: bool) -> tuple[Line, Facts]:
    """Return one of two open-collector wires: a start, bytes of eight bits and an answer, a stop."""
    bit_s, data, clock = clock_s(rng), [], []
    for _ in range(int(rng.integers(8, 20))):
        data += [1, 1, 0, 0]
        clock += [1, 1, 1, 0]
        for bit in np.concatenate([np.append(rng.integers(0, 2, 8), 0) for _ in range(int(rng.integers(1, 5)))]):
            data += [int(bit)] * 4
            clock += [0, 1, 1, 0]
        data += [0, 0, 1, 1] + [1] * int(rng.integers(4, 80))
        clock += [0, 1, 1, 1]
        clock += [1] * (len(data) - len(clock))
    return from_bits(np.array(clock if clock_line else data), bit_s / 4), {"bit_ms": bit_s * 1e3}


def one_wire(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Slots of 70 us that begin low, short for 1 and long for 0, after a reset of 480 us and an answer of 110 us."""
    stretch = float(rng.uniform(0.9, 1.1))
    lengths, levels = [1000.0], [1]
    for _ in range(int(rng.integers(3, 8))):
        lengths += [480, 30, 110, 380]
        levels += [0, 1, 0, 1]
        for bit in rng.integers(0, 2, 64):
            lengths += [6, 64] if bit else [60, 10]
            levels += [0, 1]
        lengths.append(float(rng.uniform(500, 5000)))
        levels.append(1)
    return from_lengths(np.array(lengths) * 1e-6 * stretch, np.array(levels)), {"slot_us": 70 * stretch}


def quadrature(rng: np.random.Generator) -> tuple[Line, Facts]:
    """One channel of a wheel with slits, turned to and fro by hand; it stands still where it turns back."""
    n, step_s = 20000, 1e-3
    slow = np.convolve(rng.normal(0, 1, n + 800), np.hanning(800), "valid")[:n]
    angle = np.cumsum(slow / np.std(slow) * float(rng.uniform(10, 80)) * step_s)
    return from_bits(np.floor(angle * 2).astype(int) % 2, step_s, 0.0, False), {"slits": "about 10 to 80 a second"}


CLOCKED: dict[str, Stranger] = {
    "Manchester": manchester,
    "differential Manchester": differential_manchester,
    "biphase time code": time_code,
    "synchronous, random": synchronous,
    "synchronous, five units end to end": five_unit_synchronous,
    "synchronous, three of seven": constant_ratio,
    "synchronous, flags and stuffed bits": stuffed,
    "shift register sequence": shift_register,
    "words on a clocked bus, data": lambda rng: bus_words(rng, clock_line=False),
    "words on a clocked bus, clock": lambda rng: bus_words(rng, clock_line=True),
    "two-wire bus, data": lambda rng: two_wires(rng, clock_line=False),
    "two-wire bus, clock": lambda rng: two_wires(rng, clock_line=True),
    "one-wire bus": one_wire,
    "quadrature encoder": quadrature,
}
