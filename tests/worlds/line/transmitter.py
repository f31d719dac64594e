r"""The transmitter: a cam shaft turned by the motor, five contacts and a stop contact in one loop.

Picture (one turn of the shaft, unrolled, seven and a half units):

    shaft   0      1      2      3      4      5      6        7.5
            |start |  e1  |  e2  |  e3  |  e4  |  e5  |  stop  |
    stop    `------------------------------------.----~~~~~~~~~~     opens at 0, closes at 6 1..5
    `~~~~~~'~~~~~~'~~~~~~'~~~~~~'~~~~~~'              contact k may close from k to k + 1, if its code bar lets it

The line has current (mark) while any contact is closed. A contact follows its cam, so its error is an angle: in ms it
shrinks when the shaft turns faster. Electrical delay (loop, relay, filter) is a time. In a stream the shaft never
rests; keyed by hand a clutch trips it for one turn and latches it again, the motor turning on. A clutch that slips
lets the shaft fall behind by so many ms in the first few units: slip * (1 - exp(-k T / tau)). A wheel that runs out
puts an error on the shaft, sinusoidal over its turn: a wheel on the cam shaft at the same place of every character,
one behind the clutch at the place where the motor stands. Bounce follows closings; a dropout is a loss of current
inside a mark; marks are split where contact k has opened before contact k + 1 closes, unless a locking bail holds the
line over the gap.

Source of the layout: one contact per element as in the design's definitions; slip, bounce and run-out as modelled
here are common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from worlds.line.gauge import CLOSING_K, OPENING_K, Lateness
from worlds.line.motor import Motor, Wheel
from worlds.line.truth import ContactTruth, Instants, Truth, truth_of_drive

Floats = NDArray[np.float64]
K = np.arange(7)


def no_lateness() -> Lateness:
    """Return contacts that are all in their place."""
    return Lateness(np.zeros(6), np.zeros(5))


@dataclass
class Transmitter:
    """How one transmitter is set; ms at the set speed, + = late."""

    unit_ms: float
    character_units: float = 7.5
    cams: Lateness = field(default_factory=no_lateness)
    start_late_ms: float = 0.0
    closing_delay_ms: float = 0.0  # electrical, of every closing
    opening_delay_ms: float = 0.0  # electrical, of every opening, the start instant too
    scatter_ms: float = 0.0
    start_jitter_ms: float = 0.0
    slip_ms: float = 0.0  # mean of an exponential distribution, one draw a character
    slip_tau_ms: float = 5.0
    wheels: Sequence[Wheel] = ()
    bounce_ms: float = 0.0  # the longest bounce of a closing
    bounce_edges: int = 0  # the most re-openings
    dropouts_per_character: float = 0.0
    splits_marks: bool = False

    def parts(self) -> tuple[dict[str, Lateness], dict[str, float]]:
        """Return the systematic lateness of contacts and of the start instant, part by part, ms at the set speed."""
        cam_wheels = [wheel for wheel in self.wheels if wheel.turns_with == "cams"]

        def turn(k: NDArray[np.int64]) -> Floats:
            return sum((wheel.late_ms(k.astype(float), self.character_units) for wheel in cam_wheels), np.zeros(len(k)))

        def slip(k: NDArray[np.int64]) -> Floats:
            return self.slip_ms * (1 - np.exp(-k * self.unit_ms / self.slip_tau_ms))

        contacts = {
            "cams": self.cams,
            "electrical": Lateness(np.full(6, self.closing_delay_ms), np.full(5, self.opening_delay_ms)),
            "turn": Lateness(turn(CLOSING_K), turn(OPENING_K)),
            "slip": Lateness(slip(CLOSING_K), slip(OPENING_K)),
        }
        start = {
            "cams": self.start_late_ms,
            "electrical": self.opening_delay_ms,
            "turn": float(turn(K[:1])[0]),
            "slip": 0.0,
        }
        return contacts, start

    def contact_truth(self, scale: float) -> ContactTruth:
        """Return the latenesses in ms at a mean unit `scale` times the set unit: angles stretch, times do not."""
        contacts, start = self.parts()
        at_mean = {
            name: Lateness(part.closing_ms * scale, part.opening_ms * scale) if name in ("cams", "turn") else part
            for name, part in contacts.items()
        }
        start_ms = scale * (start["cams"] + start["turn"]) + start["electrical"]
        return ContactTruth(self.unit_ms * scale, sum(at_mean.values(), no_lateness()), at_mean, start_ms)


@dataclass(frozen=True, eq=False)
class Line:
    """The current of the loop from time 0 to `duration_s`: edge times, shape (n,), and whether it flows after each."""

    edges_s: Floats
    mark_after: NDArray[np.bool_]
    mark_first: bool
    duration_s: float


@dataclass(eq=False)
class Turns:
    """Every turn of the shaft: tables of shape (characters, 7) over boundaries 0 to 6, in the motor's time.

    Attributes:
        element: shape (characters, 8), mark or not: stop, start, elements 1 to 5, stop.
        shaft_s: when the motor has turned k units since the turn began.
        close_s: when a contact would close there; open_s when the one before would open (0 is the start; 1 has none).
        scatter_ms: [closing, opening], their random parts; turn_ms the parts put in by wheels that turn with the motor.
    """

    element: NDArray[np.bool_]
    shaft_s: Floats
    close_s: Floats
    open_s: Floats
    scatter_ms: Floats
    turn_ms: Floats


def turn_shaft(
    rng: np.random.Generator, machine: Transmitter, motor: Motor, codes: Sequence[str], begins_s: Floats
) -> Turns:
    """Turn the shaft once for each code, beginning at each phase `begins_s` of the motor."""
    n = len(codes)
    phase_s = begins_s[:, None] + K * machine.unit_ms / 1e3
    parts, start = machine.parts()
    angle_ms = np.zeros((2, 7))  # [closing, opening] at boundary 0..6
    angle_ms[0, 1:] = parts["cams"].closing_ms + parts["turn"].closing_ms
    angle_ms[1, 2:] = parts["cams"].opening_ms + parts["turn"].opening_ms
    angle_ms[1, 0] = start["cams"] + start["turn"]
    runs_out_ms = np.zeros((n, 7))
    for wheel in machine.wheels:
        if wheel.turns_with == "motor":
            runs_out_ms += wheel.late_ms(phase_s * 1e3 / machine.unit_ms, machine.character_units)
    slips_ms = rng.exponential(machine.slip_ms, (n, 1)) if machine.slip_ms else np.zeros((n, 1))
    slipped_ms = slips_ms * (1 - np.exp(-K * machine.unit_ms / machine.slip_tau_ms))
    scatter_ms = rng.normal(0, 1, (2, n, 7)) * machine.scatter_ms
    scatter_ms[1, :, 0] = rng.normal(0, 1, n) * machine.start_jitter_ms
    delay_ms = np.array([machine.closing_delay_ms, machine.opening_delay_ms])[:, None, None]
    without_s = motor.time_at(phase_s + angle_ms[:, None, :] / 1e3)
    with_s = motor.time_at(phase_s + (angle_ms[:, None, :] + runs_out_ms) / 1e3)
    close_s, open_s = with_s + (slipped_ms + delay_ms + scatter_ms) / 1e3
    element = np.array([[True, False, *(bit == "1" for bit in code), True] for code in codes])
    return Turns(element, motor.time_at(phase_s), close_s, open_s, scatter_ms, (with_s - without_s) * 1e3)


Events = list[tuple[float, bool]]  # time, whether there is current after it


def bounces(
    rng: np.random.Generator, machine: Transmitter, time_s: Floats, closing: NDArray[np.bool_]
) -> tuple[Events, Floats]:
    """Return the edges that follow the first of each closing, and the last edge of each transition."""
    events, last_s = [], time_s.copy()
    for i in np.nonzero(closing)[0] if machine.bounce_edges else ():
        pairs = int(rng.integers(0, machine.bounce_edges + 1))
        gaps_s = np.sort(rng.uniform(0.02, machine.bounce_ms, 2 * pairs)) / 1e3
        events += [(float(time_s[i] + gap), bool(j % 2)) for j, gap in enumerate(gaps_s)]
        last_s[i] += gaps_s[-1] if pairs else 0.0
    return events, last_s


def dropouts(
    rng: np.random.Generator, machine: Transmitter, time_s: Floats, last_s: Floats, closing: NDArray[np.bool_]
) -> list[tuple[float, float]]:
    """Return (begin, length) of losses of current in marks, 4 ms or more from the mark's ends."""
    found = []
    for i in np.nonzero(closing[:-1])[0] if machine.dropouts_per_character else ():
        first_s = last_s[i] + 4e-3
        end_s = min(time_s[i + 1], time_s[i] + 6e-3 * machine.unit_ms) - 4e-3
        length_s = float(rng.uniform(0.1e-3, 1.5e-3))
        if end_s - first_s > length_s and rng.random() < machine.dropouts_per_character / 2.5:
            found.append((float(rng.uniform(first_s, end_s - length_s)), length_s))
    return found


def splits(machine: Transmitter, turns: Turns) -> list[tuple[float, float]]:
    """Return (begin, length) of the gaps between two marks in a row."""
    if not machine.splits_marks:
        return []
    character, k = np.nonzero(turns.element[:, 2:-1] & turns.element[:, 3:])
    opens_s, gaps_s = turns.open_s[character, k + 2], (turns.close_s - turns.open_s)[character, k + 2]
    return [(float(t), float(gap)) for t, gap in zip(opens_s, gaps_s, strict=True) if gap > 0]


def send(
    rng: np.random.Generator,
    machine: Transmitter,
    motor: Motor,
    codes: Sequence[str],
    begins_s: Floats,
    *,
    kind: str,
    keyed: bool,
    window_s: tuple[float, float],
) -> tuple[Line, Truth]:
    """Send codes, a turn beginning at each phase `begins_s`, and record from window begin to end (the motor's time)."""
    turns = turn_shaft(rng, machine, motor, codes, begins_s)
    frame, k = np.nonzero(turns.element[:, :-1] != turns.element[:, 1:])
    closing = turns.element[frame, k + 1]
    direction = np.where(closing, 0, 1)
    time_s = np.where(closing, turns.close_s[frame, k], turns.open_s[frame, k])
    bounced, last_s = bounces(rng, machine, time_s, closing)
    lost = dropouts(rng, machine, time_s, last_s, closing)
    split = splits(machine, turns)
    events = [*zip(time_s.tolist(), closing.tolist(), strict=True), *bounced]
    for begin_s, length_s in [*lost, *split]:
        events += [(begin_s, False), (begin_s + length_s, True)]
    begin_s, end_s = window_s
    whole = (turns.open_s[:, 0] > begin_s) & (turns.close_s[:, 6] < end_s)
    drive = truth_of_drive(motor, machine.wheels, machine.unit_ms, turns.shaft_s[whole], begin_s)
    truth = Truth(
        kind=kind,
        codes=list(codes),
        whole=whole,
        character_units=None if keyed else machine.character_units,
        scatter_ms=machine.scatter_ms,
        start_jitter_ms=machine.start_jitter_ms,
        dropouts_s=[(t - begin_s, length) for t, length in lost if begin_s < t < end_s],
        splits_s=[(t - begin_s, length) for t, length in split if begin_s < t < end_s],
        instants=Instants(
            frame=frame,
            k=k,
            closing=closing,
            time_s=time_s - begin_s,
            shaft_s=turns.shaft_s[frame, k] - begin_s,
            scatter_ms=turns.scatter_ms[direction, frame, k],
            turn_ms=turns.turn_ms[direction, frame, k],
            last_edge_s=last_s - begin_s,
        ),
        drive=drive,
        contacts=machine.contact_truth(drive.unit_ms / machine.unit_ms),
    )
    return line_of(events, window_s, kind), truth


def line_of(events: Events, window_s: tuple[float, float], kind: str) -> Line:
    """Return the line between two times, its own time beginning at nought."""
    events = sorted(events)
    levels = np.array([True, *(mark for _, mark in events)])
    if np.any(levels[1:] == levels[:-1]):
        raise ValueError(f"{kind}: two edges of one direction follow each other; the errors are too large for the unit")
    edges_s = np.array([t for t, _ in events])
    inside = (edges_s > window_s[0]) & (edges_s < window_s[1])
    first = bool(levels[int(np.sum(edges_s <= window_s[0]))])
    return Line(edges_s[inside] - window_s[0], levels[1:][inside], first, window_s[1] - window_s[0])
