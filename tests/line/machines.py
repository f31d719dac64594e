"""Practice machines for the tests, and their captures as raw edges without any instrument between."""

from dataclasses import replace

import numpy as np

from tapewright.alphabets import ITA2, encode
from tapewright.practice.contacts import Contact
from tapewright.practice.keying import Keying
from tapewright.practice.motor import Motor
from tapewright.practice.transmitter import Transmission, Transmitter, send
from tapewright.recordings.capture import RawEdges

PANGRAM = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 1234567890"


def edges_of(sent: Transmission, *, step_s: float = 1e-6, mark_is_high: bool = True) -> RawEdges:
    """What a logic analyser with this sample interval records: edges put midway between two samples."""
    line = sent.line
    places = np.ceil(line.times_s / step_s)
    # two changes between two samples are never seen
    keep = np.ones(places.size, bool)
    i = 0
    while i < places.size - 1:
        if places[i] == places[i + 1]:
            keep[i : i + 2] = False
            i += 2
        else:
            i += 1
    times = (places[keep] - 0.5) * step_s
    u = np.full(times.size, step_s / np.sqrt(12))
    levels = line.mark_after[keep] == mark_is_high
    return RawEdges(times, levels, u, line.starts_mark == mark_is_high, line.begin_s, line.end_s)


def random_codes(generator: np.random.Generator, n: int) -> list[str]:
    return [format(code, "05b") for code in generator.integers(0, 32, n)]


def machine(unit_s: float = 0.022, **faults) -> Transmitter:
    """A transmitter with `closing={k: s}`, `opening={k: s}` (contact numbers) and the simulator's own faults."""
    closing, opening = faults.pop("closing", {}), faults.pop("opening", {})
    every = faults.pop("contact", Contact())
    motor = Motor(unit_s, **faults.pop("motor", {}))
    contacts = tuple(
        replace(every, closing_late_s=closing.get(k, 0.0), opening_late_s=opening.get(k, 0.0)) for k in range(1, 6)
    )
    stop = replace(every, closing_late_s=closing.get(6, 0.0), opening_late_s=0.0)
    return Transmitter(motor=motor, contacts=contacts, stop=stop, **({"stop_units": 1.42} | faults))


def capture(
    sender: Transmitter, codes: list[str] | None = None, *, seed: int = 0, keying: Keying | None = None, **how
) -> RawEdges:
    generator = np.random.default_rng(seed)
    return edges_of(send(codes or encode(PANGRAM, ITA2), sender, generator, keying), **how)
