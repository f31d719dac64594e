r"""When the armature goes in and out, from the current alone.

Picture (p = pull-in, d = drop-out; | = switch; the armature is in between the two marks):

    current          .-----------.
       p - - - - - - x             .
       d - - - - - -/- - - - - - - - x
                   /|                  .
               |--->|            |--->|
              operate            release

It starts in when |i| rises over the pull-in current and starts out when |i| falls under the drop-out current
(the pull of an iron magnet does not ask for the current's direction, so ringing can pull it in again).
Travel, where given, comes on top; a start in that is called back before it has travelled is no operation.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from tapewright.coil.drive.circuit import CURRENT, ONE, FloatArray, Output
from tapewright.coil.drive.drive import Drive, Kind
from tapewright.coil.drive.response import Bench, run_schedule
from tapewright.coil.drive.solved import Segment, Trace


@dataclass(frozen=True, slots=True)
class Move:
    """One arrival of the armature.

    Attributes:
        at_s: when.
        attracted: True when it arrived at the pole, False when it arrived back.
    """

    at_s: float
    attracted: bool


def moves(drive: Drive, segments: Iterable[Segment], *, attracted: bool) -> list[Move]:
    """Return the armature's arrivals in order, from where it stood before the first segment."""
    starts: list[Move] = []
    now = attracted
    for segment in segments:
        now = _starts_within(drive, segment, now, starts)
    return _arrivals(drive, starts)


def _starts_within(drive: Drive, segment: Segment, attracted: bool, starts: list[Move]) -> bool:
    index = 0
    # never above the pull-in current, or a current between the two would call it in and out for ever
    leaves_a = min(drive.coil.drop_out_a, drive.coil.pull_in_a)
    while True:
        level = leaves_a if attracted else drive.coil.pull_in_a
        candidates = []
        for sign in (1.0, -1.0):
            # in: sign * i > pull-in; out: from either side, sign * i < drop-out while sign * i is what holds it
            row = (level * ONE - sign * CURRENT) if attracted else (sign * CURRENT - level * ONE)
            if attracted and sign * float(segment.states[index, 0]) <= 0:
                continue
            found = segment.next_above(row, index)
            if found is not None:
                candidates.append((found, row))
        if attracted and float(segment.states[index, 0]) == 0:
            candidates.append((index, level * ONE))
        if not candidates:
            return attracted
        index, row = min(candidates, key=lambda pair: pair[0])
        attracted = not attracted
        starts.append(Move(segment.instant(row, index), attracted))


def _arrivals(drive: Drive, starts: list[Move]) -> list[Move]:
    takes = {True: drive.coil.travel_s, False: drive.coil.return_s}
    arrived: list[Move] = []
    for number, start in enumerate(starts):
        at = start.at_s + takes[start.attracted]
        called_back = number + 1 < len(starts) and starts[number + 1].at_s < at
        stands_there = bool(arrived) and arrived[-1].attracted is start.attracted
        if not called_back and not stands_there:
            arrived.append(Move(at, start.attracted))
    return arrived


@dataclass(frozen=True, slots=True)
class Settled:
    """The mark held until nothing changes any more.

    Attributes:
        state: shape (4,), the state then.
        output: what the supply does then.
    """

    state: FloatArray
    output: Output


def slowest_s(drive: Drive) -> float:
    """Return the slowest time constant that matters with the switch closed."""
    supply, part = drive.supply, drive.suppressor
    slow = drive.tau_s
    if drive.unlimited_a > supply.limit_a:
        slow = max(slow, supply.c_out_f * drive.loop_ohm, 2 * drive.coil.l_h / drive.loop_ohm)
    return max(slow, part.c_f * (part.r_ohm + drive.series_ohm))


def held(drive: Drive) -> Settled:
    """Return circuit after a long mark: the steady current, and the supply's capacitor run down to what it needs."""
    current, part = drive.steady_a, drive.suppressor
    limited = drive.unlimited_a > drive.supply.limit_a
    across_coil = part.kind is Kind.RC and not part.across_contact
    capacitor_v = current * drive.coil.r_ohm if across_coil else 0.0
    state = np.array([current, capacitor_v, current * drive.loop_ohm if limited else drive.supply.volts, 1.0])
    return Settled(state, Output.LIMITS if limited else Output.HOLDS)


def make(drive: Drive) -> tuple[float | None, Trace]:
    """Close the switch after a long space: give the operate time in seconds (None: never) and the trace."""
    return _wait_for(drive, closed=True, start=None)


def break_(drive: Drive, mark: Settled | None = None) -> tuple[float | None, Trace]:
    """Open the switch after a long mark: give the release time in seconds (None: never) and the trace."""
    return _wait_for(drive, closed=False, start=mark or held(drive))


def _wait_for(drive: Drive, *, closed: bool, start: Settled | None) -> tuple[float | None, Trace]:
    span = 4 * max(slowest_s(drive), drive.coil.l_h / drive.coil.r_ohm)
    bench = Bench(drive, span / 4)
    state, output = (bench.at_rest(), Output.HOLDS) if start is None else (start.state, start.output)
    trace = run_schedule(bench, [(0.0, closed)], span, start=state, output=output)
    arrived = moves(drive, trace.segments, attracted=not closed)
    # where the current rings it may come and go: it has arrived when it stays
    stays = bool(arrived) and arrived[-1].attracted is closed
    return (arrived[-1].at_s if stays else None), trace
