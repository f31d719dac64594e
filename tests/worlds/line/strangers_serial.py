"""Start-stop signals of other than five elements: four, six to ten, with and without parity, at usual speeds.

Published speeds: 45.45 to 300 Bd of teleprinters and their followers, 600 Bd and above of data lines (common
practice, no source). Parity is the last element and makes the number of marks even or odd.
"""

from collections.abc import Callable

import numpy as np

from worlds.line.transmitter import Line

Facts = dict[str, float | str]
Stranger = Callable[[np.random.Generator], tuple[Line, Facts]]
SPEEDS_BD = (1000 / 22, 50.0, 75.0, 100.0, 110.0, 134.5, 150.0, 200.0, 300.0, 600.0, 1200.0, 2400.0, 9600.0, 115200.0)


def from_lengths(lengths_s: np.ndarray, levels: np.ndarray) -> Line:
    """Return the line that holds each level so long; neighbours of one level run together."""
    levels = np.asarray(levels, dtype=bool)
    ends_s = np.cumsum(lengths_s)
    changes = np.nonzero(levels[1:] != levels[:-1])[0]
    return Line(ends_s[changes], levels[changes + 1], bool(levels[0]), float(ends_s[-1]))


def from_bits(bits: np.ndarray, unit_s: float, rest_s: float = 0.0, rest_level: bool = True) -> Line:
    """Return the line that holds each bit for a unit, with a rest before and after."""
    lengths_s = np.concatenate([[rest_s + 1e-12], np.full(len(bits), unit_s), [rest_s + 1e-12]])
    return from_lengths(lengths_s, np.concatenate([[rest_level], np.asarray(bits, bool), [rest_level]]))


def start_stop(elements: int, parity: str) -> Stranger:
    """Return the maker of a start-stop line of so many elements, with parity none, even or odd on top of them."""

    def make(rng: np.random.Generator) -> tuple[Line, Facts]:
        unit_s = 1 / float(rng.choice(SPEEDS_BD))
        stop_units = float(rng.choice([1.0, 1.5, 2.0]))
        n = int(rng.integers(30, 120))
        data = rng.random((n, elements)) < 0.5
        if parity != "none":
            mark = (np.sum(data, axis=1) % 2 == 1) if parity == "even" else (np.sum(data, axis=1) % 2 == 0)
            data = np.column_stack([data, mark])
        keyed = rng.random() < 0.4
        rests = rng.exponential(10, n) if keyed else np.zeros(n)
        each = data.shape[1]
        units = np.column_stack([np.ones((n, 1 + each)), stop_units + rests]) * unit_s
        levels = np.column_stack([np.zeros(n), data, np.ones(n)])
        lengths_s = np.concatenate([[20 * unit_s], units.ravel() * rng.normal(1, 0.003, units.size)])
        facts: Facts = {
            "unit_ms": unit_s * 1e3,
            "elements": elements,
            "parity": parity,
            "stop_units": stop_units,
            "characters": n,
            "sent": "keyed" if keyed else "without rest",
        }
        return from_lengths(lengths_s, np.concatenate([[1], levels.ravel()])), facts

    return make


def text_of_eight(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Eight elements, letters only: the upper three hardly change, as in real text; a teleprinter's speed."""
    unit_s = 1 / float(rng.choice([45.45, 50.0, 75.0, 100.0, 110.0]))
    n = int(rng.integers(30, 100))
    numbers = np.where(rng.random(n) < 0.17, 32, rng.integers(97, 123, n))
    data = (numbers[:, None] >> np.arange(8)) & 1
    bits = np.column_stack([np.zeros(n), data, np.ones((n, 2))])
    return from_bits(bits.ravel(), unit_s, 20 * unit_s), {
        "unit_ms": unit_s * 1e3,
        "elements": 8,
        "stop_units": 2.0,
        "characters": n,
    }


def with_breaks(rng: np.random.Generator) -> tuple[Line, Facts]:
    """Eight elements, and now and then the line stays without current for many characters."""
    unit_s = 1 / float(rng.choice([110.0, 300.0, 1200.0]))
    bits: list[float] = []
    for _ in range(60):
        bits += [0.0, *rng.integers(0, 2, 8), 1.0]
        if rng.random() < 0.15:
            bits += [0.0] * int(rng.integers(15, 60)) + [1.0] * 5
    return from_bits(np.array(bits), unit_s, 20 * unit_s), {"unit_ms": unit_s * 1e3, "elements": 8, "stop_units": 1.0}


SERIAL: dict[str, Stranger] = {
    **{
        f"start-stop, {elements} elements, parity {parity}": start_stop(elements, parity)
        for elements in (6, 7, 8)
        for parity in ("none", "even", "odd")
    },
    "start-stop, 4 elements": start_stop(4, "none"),
    "start-stop, 9 elements": start_stop(9, "none"),
    "start-stop, 10 elements": start_stop(10, "none"),
    "start-stop, 8 elements, letters only": text_of_eight,
    "start-stop, 8 elements, with breaks": with_breaks,
}
