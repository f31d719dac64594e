"""Signals that are no five-unit start-stop signal, or are one of another number of elements, as lists of edges.

Made by hand from the definitions (start space, elements least significant first, parity, stop mark:
ITU-T V.4, from memory; Manchester: a change in the middle of each bit). Nothing of the practice machine is in them.
"""

import numpy as np

from tapewright.recordings.capture import RawEdges

TEXT = b"THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 1234567890 the quick brown fox jumps over the lazy dog\r\n" * 2


def edges_of(levels, unit_s, seed=0, jitter=0.005):
    """Return the edges of (level, length in units) one after the other, resting high before and after."""
    rng = np.random.default_rng(seed)
    at_s, high, times, after = 0.3, True, [], []
    for level, units in levels:
        if level != high:
            times.append(at_s + rng.normal(0, jitter * unit_s))
            after.append(high := level)
        at_s += units * unit_s
    return RawEdges(np.sort(times), np.array(after, bool), np.full(len(times), 1e-5), True, 0.0, at_s + 0.3)


def moving_edges(levels, unit_at, seed=0, jitter_s=90e-6):
    """Return the edges of a sender whose unit changes with time, and its unit at the middle of each start element."""
    rng = np.random.default_rng(seed)
    at_s, high, times, after, units = 0.3, True, [], [], []
    for level, length in levels:
        if level != high:
            if not level and length == 1.0:
                units.append(unit_at(at_s))
            times.append(at_s + rng.normal(0, jitter_s))
            after.append(high := level)
        for _ in range(20):  # a twentieth at a time, so that the speed may change within an element
            at_s += length / 20 * unit_at(at_s)
    edges = RawEdges(np.sort(times), np.array(after, bool), np.full(len(times), 1e-6), True, 0.0, at_s + 0.3)
    return edges, np.array(units)


def start_stop(codes, elements, parity="", stop=1.0, rest=lambda: 0.0):
    """Return start-stop characters of so many elements; parity "even", "odd" or none; `rest` after each."""
    out = []
    for code in codes:
        bits = [bool(code >> i & 1) for i in range(elements)]
        bits += [] if not parity else [bool(sum(bits) % 2) ^ (parity == "odd")]
        out += [(False, 1.0), *((bit, 1.0) for bit in bits), (True, stop + rest())]
    return out


def manchester(bits):
    """Return bits as changes in their middles."""
    return [half for bit in bits for half in ((bool(bit), 1.0), (not bit, 1.0))]


def synchronous(bits):
    """Return bits one after the other."""
    return [(bool(bit), 1.0) for bit in bits]
