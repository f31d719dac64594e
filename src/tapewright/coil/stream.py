r"""Real characters through a real drive: what the armature makes of a start-stop signal.

Picture (start, elements 1 to 5, stop; the armature follows late on both kinds of instant):

    sent      ----.____.----.____.----.----.____.--------
              stop start 1    2    3    4    5    stop
    armature  ------.____.---.___ ...
                    |--|
                    release delay at boundary 0: the reference of all others in this character

Boundary k lies k units after the start. Late = this delay - the delay of the start: what a receiver sees, because
it starts its own clock with the armature (FED-STD-1037C, start-stop individual distortion).
A mark grows by release - operate, a space shrinks by it: bias, marking when positive.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tapewright.coil.armature import Move, held, moves
from tapewright.coil.document import ElementShift, Spread, Stream
from tapewright.coil.drive.drive import Drive
from tapewright.coil.drive.response import Bench, run_schedule
from tapewright.coil.drive.solved import Trace

ELEMENTS = 5
#: element (0 is the start), received minus sent length of it in seconds
_Longer = tuple[int, float]


@dataclass(frozen=True, slots=True)
class Instant:
    """One transition as sent, and when the armature followed.

    Attributes:
        character: its number in the text, from 0.
        boundary: k units after the start transition: 0 begins the start, k begins element k, 6 begins the stop.
        at_s: when the switch moved.
        to_mark: True when it closed.
        units_before: length in units of what it ended.
        followed_s: when the armature arrived; None when it never did.
    """

    character: int
    boundary: int
    at_s: float
    to_mark: bool
    units_before: float
    followed_s: float | None = None

    @property
    def delay_s(self) -> float | None:
        """Time the armature took."""
        return None if self.followed_s is None else self.followed_s - self.at_s


@dataclass(frozen=True, slots=True, eq=False)
class StreamResult:
    """A text as the magnet receives it.

    Attributes:
        instants: every transition in order.
        trace: the electrical solution, from the first start to the end of the last stop.
        unit_s: length of a unit.
        end_s: end of the last stop.
    """

    instants: tuple[Instant, ...]
    trace: Trace
    unit_s: float
    end_s: float

    @property
    def missed_marks(self) -> int:
        """Marks the armature never went in for."""
        return sum(i.followed_s is None and i.to_mark for i in self.instants)

    @property
    def missed_spaces(self) -> int:
        """Spaces the armature never went out for."""
        return sum(i.followed_s is None and not i.to_mark for i in self.instants)

    @property
    def bias_s(self) -> float | None:
        """Mean lengthening of marks, release minus operate; None when nothing was followed."""
        operate, release = self._delays(to_mark=True), self._delays(to_mark=False)
        return float(np.mean(release)) - float(np.mean(operate)) if operate and release else None

    @property
    def worst_s(self) -> float | None:
        """Largest displacement of any instant against the start of its character; None when any was missed."""
        late = [self._late(i) for i in self.instants if i.boundary > 0]
        known = [abs(x) for x in late if x is not None]
        return max(known) if known and len(known) == len(late) else None

    def document(self, text: str) -> Stream:
        """Return what is written of it."""
        bias, worst, unit = self.bias_s, self.worst_s, self.unit_s
        marks, spaces = self._one_unit(marks=True), self._one_unit(marks=False)
        return Stream(
            text=text,
            unit_ms=unit * 1e3,
            transitions=len(self.instants),
            missed_marks=self.missed_marks,
            missed_spaces=self.missed_spaces,
            operate_ms=Spread.of(self._delays(to_mark=True)),
            release_ms=Spread.of(self._delays(to_mark=False)),
            bias_ms=None if bias is None else bias * 1e3,
            bias_percent=None if bias is None else bias / unit * 100,
            worst_ms=None if worst is None else worst * 1e3,
            worst_percent=None if worst is None else worst / unit * 100,
            isolated_marks_longer_ms=Spread.of([longer for _, longer in marks]),
            isolated_spaces_longer_ms=Spread.of([longer for _, longer in spaces]),
            per_element=tuple(self._element(element, marks, spaces) for element in range(1, ELEMENTS + 1)),
        )

    def _element(self, element: int, marks: Sequence[_Longer], spaces: Sequence[_Longer]) -> ElementShift:
        late = [(i.boundary, self._late(i)) for i in self.instants]
        mark = Spread.of([x for k, x in marks if k == element])
        return ElementShift(
            element=element,
            begins_late_ms=Spread.of([x for k, x in late if k == element and x is not None]),
            ends_late_ms=Spread.of([x for k, x in late if k == element + 1 and x is not None]),
            mark_longer_ms=mark,
            mark_longer_percent=None if mark.mean is None else mark.mean / self.unit_s / 10,
            space_longer_ms=Spread.of([x for k, x in spaces if k == element]),
        )

    def _delays(self, *, to_mark: bool) -> list[float]:
        return [i.delay_s for i in self.instants if i.to_mark is to_mark and i.delay_s is not None]

    def _late(self, instant: Instant) -> float | None:
        start = self._starts().get(instant.character)
        return None if instant.delay_s is None or start is None else instant.delay_s - start

    def _starts(self) -> dict[int, float]:
        return {i.character: i.delay_s for i in self.instants if i.boundary == 0 and i.delay_s is not None}

    def _one_unit(self, *, marks: bool) -> list[_Longer]:
        """(element, received - sent length) of each run of exactly one unit; element 0 is the start."""
        found = []
        for first, second in zip(self.instants, self.instants[1:], strict=False):
            one = abs(second.units_before - 1) < 1e-9 and first.to_mark is marks
            if one and first.delay_s is not None and second.delay_s is not None:
                found.append((first.boundary, second.delay_s - first.delay_s))
        return found


def instants_of(codes: Sequence[str], unit_s: float, stop_units: float) -> tuple[list[Instant], float]:
    """Lay out codes as transitions; give them and the end of the last stop, in seconds from the first start."""
    found: list[Instant] = []
    at, level, since = 0.0, True, -stop_units * unit_s
    for number, code in enumerate(codes):
        for boundary, sign in enumerate("0" + code + "1"):
            mark = sign == "1"
            time = at + boundary * unit_s
            if mark is not level:
                found.append(Instant(number, boundary, time, mark, (time - since) / unit_s))
                level, since = mark, time
        at += (1 + len(code) + stop_units) * unit_s
    return found, at


def send(drive: Drive, codes: Sequence[str], *, unit_s: float, stop_units: float) -> StreamResult:
    """Send codes through a drive whose magnet has rested in mark.

    Args:
        drive: the drive.
        codes: five-element codes, element 1 first, 1 = mark = current.
        unit_s: length of a unit.
        stop_units: length of the stop.
    """
    sent, end = instants_of(codes, unit_s, stop_units)
    mark = held(drive)
    bench = Bench(drive, (1 + ELEMENTS + stop_units) * unit_s)
    switchings = [(instant.at_s, instant.to_mark) for instant in sent]
    # the armature may arrive after the last stop has ended: wait on
    trace = run_schedule(bench, switchings, end, start=mark.state, output=mark.output)
    arrivals = moves(drive, trace.segments, attracted=True)
    return StreamResult(tuple(follow(sent, arrivals)), trace, unit_s, end)


def follow(sent: Sequence[Instant], arrivals: Sequence[Move]) -> list[Instant]:
    """Return each sent instant the arrival it caused: an arrival belongs to the last instant of its kind before it.

    Where ringing lets the armature go and calls it back, the last arrival counts: it has settled only then.
    """
    followed = list(sent)
    times = np.array([instant.at_s for instant in sent])
    for arrival in arrivals:
        last = int(np.searchsorted(times, arrival.at_s, side="right")) - 1
        while last >= 0 and sent[last].to_mark is not arrival.attracted:
            last -= 1
        newest = last == int(np.searchsorted(times, arrival.at_s, side="right")) - 1
        if last >= 0 and (newest or followed[last].followed_s is None):
            followed[last] = replace(followed[last], followed_s=arrival.at_s)
    return followed
