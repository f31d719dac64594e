r"""A transmitter with one contact per element: codes in, the line with its truth out.

Picture (letter A = 11000; each row a contact, the line their OR; o = overlap or gap between neighbours):

    stop     ______|                               |____________
    contact 1      |     |_____|                   |
    contact 2      |           o_____|             |
    contacts 3-5   |                               |
    line     ______|     |___________|             |____________
    boundary       0     1     2     3   4   5     6

Contact k closes at boundary k and opens at boundary k + 1; the stop contact closes at boundary 6 and opens at the
start, which is the reference of all that follows. A contact that opens before its neighbour closes splits the mark.
A transmitter with one common contact for all elements cannot split (`own_contacts=False`).

Bias and end distortion act on the line as a whole, like a relay (FED-STD-1037C): marking bias begins every mark
early, marking end distortion ends every mark late except the stop pulse. Scatter displaces every instant but the start.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tapewright.practice.code_bars import CodeBar, selected
from tapewright.practice.contacts import SOUND, Contact, closed_spans
from tapewright.practice.keying import Keying
from tapewright.practice.line_signal import BoolArray, FloatArray, LineSignal, from_marks, union, without
from tapewright.practice.motor import Motor

IntArray = npt.NDArray[np.int_]


@dataclass(frozen=True, slots=True)
class Transmitter:
    """A transmitter and all its faults.

    Attributes:
        motor: speed and its wavering.
        contacts: one per element, in the order sent.
        stop: the stop contact; its opening is the start of a character.
        bars: what the code bars make of a key; empty when they do as they should.
        stop_units: length of the stop pulse in a full-speed stream, units.
        own_contacts: True when each element has its own contact, so that adjacent marks can split.
        bias_s: marking bias: every mark on the line begins this much early (spacing bias negative).
        end_s: marking end distortion: every mark but the stop ends this much late (spacing end negative).
        scatter_s: standard deviation of every instant but the start.
        start_scatter_s: standard deviation of the start instant.
    """

    motor: Motor
    contacts: tuple[Contact, ...] = (SOUND,) * 5
    stop: Contact = SOUND
    bars: tuple[CodeBar, ...] = ()
    stop_units: float = 1.5
    own_contacts: bool = True
    bias_s: float = 0.0
    end_s: float = 0.0
    scatter_s: float = 0.0
    start_scatter_s: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Instants:
    """Every change between elements that the transmitter meant to make, all arrays of shape (n,).

    Attributes:
        character: which character, from 0.
        boundary: 0 (the start) to elements + 1 (the stop).
        closing: True for space to mark.
        time_s: when the contact made it: first make or last break, without bias and end distortion.
        bounce_s: time from first to last make; 0 for an opening.
    """

    character: IntArray
    boundary: IntArray
    closing: BoolArray
    time_s: FloatArray
    bounce_s: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Transmission:
    """The line, and the truth about it.

    Attributes:
        line: what an instrument could see.
        keyed: the codes as keyed.
        sent: the codes as the bars selected them.
        transmitter: what sent it.
        start_s: shape (n,), start instant of each character.
        unit_s: shape (n,), mean unit of each character: a sixth of start to stop as the motor turned.
        instants: every change between elements.
    """

    line: LineSignal
    keyed: tuple[str, ...]
    sent: tuple[str, ...]
    transmitter: Transmitter
    start_s: FloatArray
    unit_s: FloatArray
    instants: Instants


@dataclass(frozen=True, slots=True, eq=False)
class _Turns:
    """Instants of all contacts: make and leave of shape (characters, elements), the others (characters,)."""

    make: FloatArray
    leave: FloatArray
    stop_make: FloatArray
    start: FloatArray
    unit: FloatArray
    end: float


def send(
    codes: Sequence[str], transmitter: Transmitter, generator: np.random.Generator, keying: Keying | None = None
) -> Transmission:
    """Send codes ("11000", element 1 first) and give the line with its truth.

    Raises:
        ValueError: when a code has not as many elements as the transmitter has contacts.
    """
    keying = keying or Keying()
    elements = len(transmitter.contacts)
    for code in codes:
        if len(code) != elements or set(code) - {"0", "1"}:
            raise ValueError(f"this transmitter sends {elements} elements of 0 and 1, not {code!r}")
    sent = selected(codes, transmitter.bars, generator) if transmitter.bars else list(codes)
    marks = np.array([[c == "1" for c in code] for code in sent], dtype=bool).reshape(-1, elements)
    turns = _turn(len(codes), transmitter, keying, generator)
    closed, bounce = _close_contacts(marks, turns, transmitter, generator)
    line = _line(closed, turns, transmitter, keying.open_line(generator), keying.begin_s)
    instants = _instants(marks, turns, bounce)
    return Transmission(line, tuple(codes), tuple(sent), transmitter, turns.start, turns.unit, instants)


def _turn(characters: int, machine: Transmitter, keying: Keying, generator: np.random.Generator) -> _Turns:
    elements, motor = len(machine.contacts), machine.motor
    turn_units = 1 + elements + machine.stop_units
    spent = turn_units * motor.unit_s + keying.gaps_s(characters, generator)
    begin = keying.lead_s + np.append(0.0, np.cumsum(spent))
    end = float(motor.true_time_s(begin[-1:])[0]) + keying.tail_s
    begin = begin[:-1]

    def at(boundary: float, late_s: float, scatter_s: float) -> FloatArray:
        true = motor.true_time_s(begin + boundary * motor.unit_s) + motor.displaced_s(boundary, turn_units)
        return np.asarray(true + late_s + generator.normal(0.0, 1.0, characters) * scatter_s)

    both = machine.scatter_s
    pairs = list(enumerate(machine.contacts, start=1))
    make = [at(k, c.closing_late_s, np.hypot(both, c.closing_scatter_s)) for k, c in pairs]
    leave = [at(k + 1, c.opening_late_s, np.hypot(both, c.opening_scatter_s)) for k, c in pairs]
    stop = machine.stop
    stop_make = at(elements + 1, stop.closing_late_s, np.hypot(both, stop.closing_scatter_s))
    start = at(0, stop.opening_late_s, np.hypot(machine.start_scatter_s, stop.opening_scatter_s))
    last = motor.true_time_s(begin + (elements + 1) * motor.unit_s)
    unit = (last - motor.true_time_s(begin)) / (elements + 1)
    return _Turns(np.column_stack(make), np.column_stack(leave), stop_make, start, unit, end)


def _close_contacts(
    marks: BoolArray, turns: _Turns, machine: Transmitter, generator: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    """Return the stretches in which any contact is closed, and the bounces, shape (characters, elements + 1)."""
    characters, elements = marks.shape
    bounce = np.zeros((characters, elements + 1))
    after = np.column_stack([marks[:, 1:], np.ones(characters, dtype=bool)])
    before = np.column_stack([np.zeros(characters, dtype=bool), marks])
    next_make = np.column_stack([turns.make[:, 1:], turns.stop_make])
    strikes = np.ones(before.shape) if machine.own_contacts else 1.0 - before
    # one common contact stays closed from mark to mark
    leave = turns.leave if machine.own_contacts else np.where(after, np.maximum(next_make, turns.leave), turns.leave)
    spans = []
    for n, contact in enumerate(machine.contacts):
        rows = marks[:, n]
        made = np.column_stack([turns.make[rows, n], leave[rows, n]])
        closed, bounce[rows, n] = closed_spans(contact, made, strikes[rows, n], generator)
        spans.append(closed)
    rest = np.column_stack([turns.stop_make, np.append(turns.start[1:], np.inf)[:characters]])
    rest[-1:, 1] = turns.end
    closed, bounce[:, elements] = closed_spans(machine.stop, rest, strikes[:, elements], generator)
    first = turns.start[0] if characters else turns.end
    return np.concatenate([*spans, closed, [[-np.inf, first]]]), bounce


def _line(
    closed: FloatArray, turns: _Turns, machine: Transmitter, opened: FloatArray, begin_s: float
) -> LineSignal:
    marks = union(closed)
    marks[:, 0] -= machine.bias_s
    marks[:, 1] += np.where(np.isin(marks[:, 1], [*turns.start, turns.end]), 0.0, machine.end_s)
    return from_marks(without(union(marks), opened), begin_s, turns.end)


def _instants(marks: BoolArray, turns: _Turns, bounce: FloatArray) -> Instants:
    characters = len(marks)
    column = np.ones((characters, 1), dtype=bool)
    levels = np.hstack([column, ~column, marks, column])  # before the start, start, elements, stop
    character, boundary = np.nonzero(levels[:, 1:] != levels[:, :-1])
    closing = levels[character, boundary + 1]
    closes = np.column_stack([turns.start, turns.make, turns.stop_make])
    opens = np.column_stack([turns.start, turns.start, turns.leave])
    time = np.where(closing, closes[character, boundary], opens[character, boundary])
    struck = np.where(closing, np.column_stack([np.zeros(characters), bounce])[character, boundary], 0.0)
    return Instants(character, boundary, closing, time, struck)
