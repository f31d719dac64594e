"""Send a signal whose faults are known: to sound, to a serial port, to a file, to the practice machine."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from tapewright.number import Reading
from tapewright.practice.keying import Keying
from tapewright.practice.transmitter import Transmission, send
from tapewright.sender.compose import Sender

Progress = Callable[[float], None]

LOOP_CAUTIONS = (
    "A loop carries voltages that injure (130 V is usual), and opening a coil kicks far above that: connect only with "
    "the loop supply off and proved dead.",
    "Never join a computer to a loop directly. Sound card and serial port go through an isolated keyer (opto-coupler, "
    "relay or transformer made for it); neither side may earth the other.",
    "The machine starts to move when the line opens: covers on, hands off, sleeves and hair tied back.",
    "Follow your local electrical code; what it reserves to a licensed person is theirs to do.",
)


@dataclass(frozen=True, slots=True)
class SinkOnOffer:
    """A sink as a list shows it: how to ask for it, what it is, where one was found, why it cannot be used."""

    kind: str
    what: str
    example: str
    found: tuple[str, ...]
    unavailable: str


@dataclass(frozen=True, slots=True)
class Delivered:
    """What the sink says of how the signal went out.

    Attributes:
        how: in a few words.
        jitter_ms: standard deviation of how late each change went out, where the sink can measure it.
        latest_ms: the latest of them, None when not measured.
        baud: the rate that the sink really used, None when it is the one asked for.
        printed: codes that the practice machine selected, None for other sinks.
        notes: what to mind of it.
    """

    how: str
    jitter_ms: Reading | None = None
    latest_ms: float | None = None
    baud: float | None = None
    printed: tuple[str, ...] | None = None
    notes: tuple[str, ...] = ()


class Sink(Protocol):
    """Where a signal goes."""

    #: what it is
    what: str
    #: True when a machine may hang on it, so that the cautions must stand first
    drives_loop: bool

    def deliver(self, transmission: Transmission, baud: float, progress: Progress) -> Delivered:
        """Send all of it; return when it is out."""

    def close(self) -> None:
        """Leave the line at rest, and let go of the device."""


@dataclass(frozen=True, slots=True, eq=False)
class Sending:
    """A signal with its truth, and how it went out."""

    transmission: Transmission
    sender: Sender
    sink: str
    delivered: Delivered


def transmit(codes: list[str], sender: Sender, keying: Keying, seed: int) -> Transmission:
    """Make the signal; nothing goes out yet."""
    return send(codes, sender.transmitter(), np.random.default_rng([seed, 0]), keying)


def send_signal(transmission: Transmission, sender: Sender, sink: Sink, progress: Progress) -> Sending:
    """Send the signal to the sink; the sink is closed afterwards, whatever happens."""
    try:
        return Sending(transmission, sender, sink.what, sink.deliver(transmission, sender.exact_baud, progress))
    finally:
        sink.close()
