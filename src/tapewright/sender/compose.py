"""Compose a test signal: what is to be sent, by which sender, seen by which instrument."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Literal, Protocol

import numpy as np

from tapewright.alphabets import Alphabet, encode
from tapewright.errors import InputError, WrongUseError
from tapewright.practice.code_bars import CodeBar
from tapewright.practice.contacts import Contact
from tapewright.practice.instrument import Instrument, record_edges
from tapewright.practice.keying import Keying
from tapewright.practice.machines import MACHINES, at_unit
from tapewright.practice.motor import Motor
from tapewright.practice.transmitter import Transmission, Transmitter, send
from tapewright.reference.speeds import usual_stop_units

Progress = Callable[[float], None]
#: what a file can hold: changes only, a logic level per sample, or a voltage per sample
Contents = Literal["edges", "logic", "volts"]
STOP, ALL = "stop", "all"

#: what a code bar can be told to do: word on the command line -> the bar
BARS: dict[str, CodeBar] = {
    "mark": CodeBar(stuck="mark"),
    "space": CodeBar(stuck="space"),
    "left-over": CodeBar(left_over=1.0),
    "tired": CodeBar(misses_mark=0.2),
}

#: rates that are written with fewer digits than they have: 45.45 Bd is a unit of 22 ms
EXACT_BAUD = {45.45: 1 / 0.022, 45.5: 1 / 0.022}


@dataclass(frozen=True, slots=True)
class Sender:
    """Who sends, and how badly. Per cent of a unit unless the name says otherwise; late positive.

    Attributes:
        machine: "heron", "petrel", or None for an ideal sender.
        baud: nominal modulation rate.
        stop_units: stop pulse in units; None for the usual one.
        speed_error_percent: how much faster than nominal.
        bias_percent: marking bias (spacing negative).
        end_percent: marking end distortion (spacing negative).
        scatter_percent: standard deviation of all instants but the start.
        hunt_percent: how far the speed swings.
        hunt_hz: how often it does.
        cold_percent: how much slower it is when cold.
        own_contacts: an ideal sender gets a contact for each element, so that adjacent marks can split.
        closing_late_ms: contact number, "stop" or "all" to how late it closes.
        opening_late_ms: the same for opening; the stop contact's opening is the start.
        bounce_ms: the same for the time from first to last make.
        dropouts_per_s: the same for how often it fails while closed.
        bars: element number to what its code bar does instead of what it should.
    """

    machine: str | None = None
    baud: float = 45.45
    stop_units: float | None = None
    speed_error_percent: float = 0.0
    bias_percent: float = 0.0
    end_percent: float = 0.0
    scatter_percent: float = 0.0
    hunt_percent: float = 0.0
    hunt_hz: float = 1.0
    cold_percent: float = 0.0
    own_contacts: bool = False
    closing_late_ms: dict[str, float] = field(default_factory=dict)
    opening_late_ms: dict[str, float] = field(default_factory=dict)
    bounce_ms: dict[str, float] = field(default_factory=dict)
    dropouts_per_s: dict[str, float] = field(default_factory=dict)
    bars: dict[str, CodeBar] = field(default_factory=dict)

    @property
    def exact_baud(self) -> float:
        """The modulation rate with all its digits."""
        return EXACT_BAUD.get(self.baud, self.baud)

    def transmitter(self) -> Transmitter:
        """Build it."""
        unit_s = 1 / self.exact_baud
        ideal = Transmitter(Motor(unit_s), own_contacts=self.own_contacts)
        machine = at_unit(MACHINES[self.machine], unit_s) if self.machine else ideal
        motor = replace(
            machine.motor,
            unit_s=machine.motor.unit_s / (1 + self.speed_error_percent / 100),
            hunt=self.hunt_percent / 100 or machine.motor.hunt,
            hunt_hz=self.hunt_hz if self.hunt_percent else machine.motor.hunt_hz,
            cold=self.cold_percent / 100,
        )
        share_s = motor.unit_s / 100
        return replace(
            machine,
            motor=motor,
            stop_units=self._stop_units(),
            bias_s=self.bias_percent * share_s,
            end_s=self.end_percent * share_s,
            scatter_s=self.scatter_percent * share_s,
            contacts=tuple(self._set(c, str(n)) for n, c in enumerate(machine.contacts, start=1)),
            stop=self._set(machine.stop, STOP),
            bars=self._bars(len(machine.contacts)),
        )

    def _stop_units(self) -> float:
        return self.stop_units or usual_stop_units(self.exact_baud)

    def _set(self, contact: Contact, name: str) -> Contact:
        def asked(given: dict[str, float], otherwise: float, scale: float = 1e-3) -> float:
            number = given.get(name, given.get(ALL))
            return otherwise if number is None else number * scale

        return replace(
            contact,
            closing_late_s=asked(self.closing_late_ms, contact.closing_late_s),
            opening_late_s=asked(self.opening_late_ms, contact.opening_late_s),
            bounce_s=asked(self.bounce_ms, contact.bounce_s),
            dropouts_per_s=asked(self.dropouts_per_s, contact.dropouts_per_s, 1.0),
        )

    def _bars(self, elements: int) -> tuple[CodeBar, ...]:
        return tuple(self.bars.get(str(n), CodeBar()) for n in range(1, elements + 1)) if self.bars else ()


@dataclass(frozen=True, slots=True, eq=False)
class Composed:
    """A signal ready to be written.

    Attributes:
        transmission: the line with its truth.
        instrument: what records it.
        contents: what the file is to hold.
        seed: of all chance in it.
    """

    transmission: Transmission
    instrument: Instrument
    contents: Contents
    seed: int

    def chance(self) -> np.random.Generator:
        """Return the source of chance for the instrument, the same each time."""
        return np.random.default_rng([self.seed, 1])

    @property
    def changes(self) -> int:
        """Number of changes an ideal logic input at this rate would see."""
        return int(record_edges(self.transmission.line, self.instrument)[0].size)


class CaptureWriter(Protocol):
    """Writes one composed signal to a file."""

    def __call__(self, composed: Composed, progress: Progress) -> None:
        """Write; call `progress` with the fraction done."""


def codes_of(text: str, alphabet: Alphabet) -> list[str]:
    """Return the codes of a text.

    Raises:
        InputError: names the character that cannot be sent.
    """
    try:
        return encode(text, alphabet)
    except ValueError as reason:
        place = str(reason).removesuffix(f" cannot be sent in {alphabet.name}")
        expected, do = f"characters that {alphabet.name} has", "Leave it out or spell it."
        raise InputError("the text", place=place, expected=expected, found="one it has not", do=do) from reason


def compose_signal(
    codes: list[str], sender: Sender, keying: Keying, instrument: Instrument, contents: Contents, seed: int
) -> Composed:
    """Send the codes; nothing is recorded before a writer asks for it.

    Raises:
        WrongUseError: when the recording would begin after the signal has ended.
    """
    transmission = send(codes, sender.transmitter(), np.random.default_rng([seed, 0]), keying)
    line = transmission.line
    if line.begin_s >= line.end_s:
        lasts = f"The signal lasts {line.end_s:.3f} s"
        raise WrongUseError(f"{lasts}; when {line.begin_s:g} s are cut off, nothing is left.")
    return Composed(transmission, instrument, contents, seed)
