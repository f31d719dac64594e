"""What was put into a recording of a start-stop line: the settings, the gauge-fixed values and every instant.

Times are true seconds after the beginning of the recording. An instrument whose clock is wrong shows time / (1 +
clock_ppm / 1e6). Each instant keeps its ideal place and all that moved it, so that any other definition can be worked
out from the table.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from types import UnionType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from worlds.line.gauge import GaugeFixed, Lateness, fix_gauge
from worlds.line.motor import BandSwing, Motor, Sag, SteadySwing, Warming, Wheel

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Instants:
    """Every transition of the line, start instants included, in order of frames.

    Attributes:
        frame: shape (n,), character, from 0.
        k: shape (n,), boundary 0 to 6; 0 is the start instant.
        closing: shape (n,), True for space to mark.
        time_s: shape (n,), the first edge of the transition.
        shaft_s: shape (n,), when the shaft, with its motor's swings, was k units from the start of its turn.
        scatter_ms: shape (n,), the random part in time_s (wear and play; at k = 0 the jitter of the start).
        turn_ms: shape (n,), the part put in by a wheel that turns with the motor, not with the cams.
        last_edge_s: shape (n,), the last edge of the transition's bounce; time_s where it did not bounce.
    """

    frame: NDArray[np.int64]
    k: NDArray[np.int64]
    closing: NDArray[np.bool_]
    time_s: Floats
    shaft_s: Floats
    scatter_ms: Floats
    turn_ms: Floats
    last_edge_s: Floats

    def contact(self) -> NDArray[np.int64]:
        """Return the contact that made each instant: 1 to 5; 6 = stop closing, 0 = stop opening, which is the start."""
        return np.where(self.closing, self.k, np.maximum(self.k - 1, 0))

    def distortion_percent(self, unit_ms: float) -> Floats:
        """Return ((t - S) - k T) / T in per cent of each instant, nought at the starts; + = late (FED-STD-1037C)."""
        starts_s = self.time_s[self.k == 0]
        return 100 * ((self.time_s - starts_s[self.frame]) * 1e3 - self.k * unit_ms) / unit_ms


@dataclass(frozen=True, eq=False)
class DriveTruth:
    """How fast the shaft turned.

    Attributes:
        set_unit_ms: unit at the set speed, deviations apart.
        unit_ms: THE true unit: time from the first whole character's start to the last boundary 6, divided by the
            units the motor turned between them. (It is the mean over the turning, not over time; rests count, the
            motor turns on.)
        unit_over_characters_ms: mean unit while characters were sent; differs where rests were long and the speed
            changed.
        unit_begin_ms: unit at the first start by the slow part of the speed alone (warming); unit_end_ms at the last
            boundary.
        drift_percent: speed gained between these two, per cent of the mean speed.
        swings: the band swings and steady swings put in.
        swing_rms_percent: what all swings together came to in this recording, per cent.
        sag_percent: the deepest loss of speed by a sag.
        wheels: once-a-turn errors, on the cam shaft (then they are in the contacts too) or turning with the motor.
        begin_s, end_s: the first start and the last boundary 6.
        motor: the motor itself; `motor.speed_at(t_s + motor_ahead_s)` is the relative speed at time t_s of the
            recording.
        motor_ahead_s: how long the motor's own time was running when the recording began.
    """

    set_unit_ms: float
    unit_ms: float
    unit_over_characters_ms: float
    unit_begin_ms: float
    unit_end_ms: float
    drift_percent: float
    swings: Sequence[SteadySwing | BandSwing]
    swing_rms_percent: float
    sag_percent: float
    wheels: Sequence[Wheel]
    begin_s: float
    end_s: float
    motor: Motor
    motor_ahead_s: float

    @property
    def baud(self) -> float:
        """Modulation rate of the true unit."""
        return 1e3 / self.unit_ms


def truth_of_drive(
    motor: Motor, wheels: Sequence[Wheel], set_unit_ms: float, shaft_s: Floats, ahead_s: float
) -> DriveTruth:
    """Return the truth of a motor over turns whose boundaries lay at `shaft_s`, shape (characters, 7), its own time."""
    ends_s = np.array([shaft_s[0, 0], shaft_s[-1, 6]])
    units = float(np.diff(motor.phase_at(ends_s))[0]) * 1e3 / set_unit_ms
    unit_ms = float(ends_s[1] - ends_s[0]) * 1e3 / units
    over_s = np.linspace(*ends_s, 4000)

    def part(kind: type | UnionType, at_s: Floats) -> Floats:
        return sum((one.at(at_s) for one in motor.deviations if isinstance(one, kind)), np.zeros(len(at_s)))

    begin_unit_ms, end_unit_ms = set_unit_ms / (1 + part(Warming, ends_s))
    return DriveTruth(
        set_unit_ms=set_unit_ms,
        unit_ms=unit_ms,
        unit_over_characters_ms=float(np.mean(shaft_s[:, 6] - shaft_s[:, 0])) * 1e3 / 6,
        unit_begin_ms=float(begin_unit_ms),
        unit_end_ms=float(end_unit_ms),
        drift_percent=100 * unit_ms * float(1 / end_unit_ms - 1 / begin_unit_ms),
        swings=[one for one in motor.deviations if isinstance(one, SteadySwing | BandSwing)],
        swing_rms_percent=100 * float(np.std(part(SteadySwing | BandSwing, over_s))),
        sag_percent=100 * float(np.max(-part(Sag, over_s))) + 0.0,
        wheels=list(wheels),
        begin_s=float(ends_s[0]) - ahead_s,
        end_s=float(ends_s[1]) - ahead_s,
        motor=motor,
        motor_ahead_s=ahead_s,
    )


@dataclass(frozen=True, eq=False)
class ContactTruth:
    """How late every contact was.

    Attributes:
        unit_ms: the true unit, as in `DriveTruth`.
        raw: systematic lateness of each contact against the shaft at the mean speed, ms; the sum of `parts`.
        parts: "cams", "electrical", "turn" (wheels on the cam shaft) and "slip" (mean loss in the clutch).
        start_raw_ms: systematic lateness of the start instant against the shaft.
    """

    unit_ms: float
    raw: Lateness
    parts: dict[str, Lateness]
    start_raw_ms: float

    def fixed(self, **choices: Any) -> GaugeFixed:
        """Return the latenesses as a line can show them; `choices` as in `fix_gauge`."""
        return fix_gauge(self.raw, self.start_raw_ms, **choices)

    @property
    def line_unit_ms(self) -> float:
        """The unit in which the contacts have no slope over k."""
        return self.unit_ms + self.fixed().slope_ms

    @property
    def mark_widths_ms(self) -> Floats:
        """Width of a lone mark of contacts 1 to 4, shape (5,); the fifth, before a stop, is never seen alone."""
        return self.raw.mark_widths_ms(self.unit_ms)


@dataclass(frozen=True, eq=False)
class Truth:
    """A five-unit start-stop line as it was sent.

    Attributes:
        kind: name of the world.
        codes: what was sent, element 1 first, "11000".
        whole: shape (characters,), False where the recording began inside the character.
        character_units: units from start to start in a stream; None when keyed by hand.
        scatter_ms: standard deviation of every instant but the start; start_jitter_ms of the start.
        drive, contacts, instants: see there. Instants before the recording have negative times.
        dropouts_s: (begin, length) of each loss of current within a mark; splits_s of each gap between two marks in a
            row.
    """

    kind: str
    codes: Sequence[str]
    whole: NDArray[np.bool_]
    character_units: float | None
    scatter_ms: float
    start_jitter_ms: float
    dropouts_s: Sequence[tuple[float, float]]
    splits_s: Sequence[tuple[float, float]]
    drive: DriveTruth
    contacts: ContactTruth
    instants: Instants
    five_unit: bool = True

    def times_seen(self) -> NDArray[np.int64]:
        """Return how often each of ten instants occurs in whole characters: closings 1 to 6, openings 1 to 4."""
        inside = self.whole[self.instants.frame] & (self.instants.k > 0)
        contact, closing = self.instants.contact()[inside], self.instants.closing[inside]
        return np.concatenate(
            [np.bincount(contact[closing], minlength=7)[1:7], np.bincount(contact[~closing], minlength=5)[1:5]]
        )

    def local_units_ms(self) -> Floats:
        """Return the mean unit within each character as the motor turned it, shape (characters,)."""
        drive, starts_s = self.drive, self.instants.shaft_s[self.instants.k == 0] + self.drive.motor_ahead_s
        phase_s = drive.motor.phase_at(starts_s)
        return (drive.motor.time_at(phase_s + 6e-3 * drive.set_unit_ms) - starts_s) * 1e3 / 6


@dataclass(frozen=True, eq=False)
class StrangerTruth:
    """A signal that is no five-unit start-stop line.

    Attributes:
        kind: what it is.
        facts: its settings, units in the names.
    """

    kind: str
    facts: dict[str, float | str]
    five_unit: bool = False


@dataclass(frozen=True, eq=False)
class Stretches:
    """Five-unit lines, one after the other.

    Attributes:
        kind: name of the world.
        stretches: the truth of each.
        spans_s: (begin, end) of each in the recording.
    """

    kind: str
    stretches: Sequence[Truth]
    spans_s: Sequence[tuple[float, float]]
    five_unit: bool = True


AnyTruth = Truth | StrangerTruth | Stretches
