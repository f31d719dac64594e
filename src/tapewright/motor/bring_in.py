r"""Bring a motor to speed through its supply, by trim's moves.

    voltage set --> wait --> speed read --> trim: next voltage --> confirmed? --> voltage set ...

Trim sees one knob and one reading, both as logarithms, in which most motors are nearly straight:

    knob     100 ln(volts / first volts)        reading   100 ln(speed / wanted speed), per cent

What one per cent of volts does to the speed is expected at 1 +/- 0.35 per cent before anything was tried: proportional
where friction is small (series and magnet motors alike), more where it is large, nothing where a governor holds it.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

from tapewright.gauges.document import Trim
from tapewright.gauges.trim.advice import advise
from tapewright.gauges.trim.problem import Expectation, Knob, Problem, Seen, Target, Trial
from tapewright.number import Reading

EXPECTED, EXPECTED_U = 1.0, 0.35
#: no move changes the voltage by more than this, per cent of its logarithm (a third up), or by more than this share
#: of what the speed lacks, per cent of its logarithm: a motor whose speed goes with the square of the volts still
#: comes out slow
LARGEST_MOVE, SHARE_OF_GAP = 30.0, 0.45
#: a motor warms and drifts: what an older reading says of now is in doubt by so much for each move since, per cent
DRIFT = 0.1
#: the first reading, and those nearer than this, per cent, count only when the speed stands still
NEAR = 3.0
#: seconds between two looks at a motor that warms; most looks at one voltage
LOOK_S, MOST_LOOKS = 60.0, 15
MOST_MOVES = 8
#: a motor slower than this, per cent, hardly turns: it is given more before trim is asked
HARDLY_TURNS = -80.0
#: a voltage is set to this, volts
VOLT_STEP = 0.01


class Settable(Protocol):
    """What holds the motor's voltage: a supply behind its ceiling, or a person with a knob."""

    #: the most it may be set to
    ceiling_v: float

    def set_volts(self, volts: float) -> None:
        """Set it, and let the motor settle."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be reached.

    Attributes:
        within_percent: how far the speed may be out, either way.
        first_v: voltage to begin at.
        most_moves: most changes of the voltage after the first setting.
    """

    within_percent: float
    first_v: float
    most_moves: int = MOST_MOVES


@dataclass(frozen=True, slots=True)
class Step:
    """One voltage, and what the speed was there: per cent fast."""

    volts: float
    error_percent: Reading

    @property
    def hardly_turns(self) -> bool:
        """Return whether the motor is so slow that nothing is learned of it but that it needs more."""
        return (self.error_percent.value or 0.0) < HARDLY_TURNS


@dataclass(slots=True)
class BroughtIn:
    """How it went.

    Attributes:
        steps: voltage and speed, the first setting included.
        state: "done", "cannot", "stopped" or "not enough moves".
        why: the reason.
    """

    steps: list[Step] = field(default_factory=list)
    state: str = "stopped"
    why: str = "it was stopped"

    @property
    def moves(self) -> int:
        """Changes of the voltage after the first setting."""
        return max(0, len(self.steps) - 1)


#: gives the speed, per cent faster than wanted, with its doubt; None to stop
ReadSpeed = Callable[[], Reading | None]
#: asks the user: the voltage to go to, and why; False to stop
Confirm = Callable[[float, str], bool]


def bring_speed_in(supply: Settable, wanted: Wanted, read: ReadSpeed, confirm: Confirm) -> BroughtIn:
    """Set voltages until the speed is shown within, trim says that it cannot, or somebody stops it."""
    went = BroughtIn()
    volts, why = wanted.first_v, "the first voltage"
    while confirm(volts, why):
        supply.set_volts(volts)
        error = read()
        if error is None or error.value is None:
            return went
        went.steps.append(Step(volts, error))
        if went.steps[-1].hardly_turns:
            why, volts = "it hardly turns yet", min(volts * math.exp(LARGEST_MOVE / 100), supply.ceiling_v)
            if volts > went.steps[-1].volts and went.moves < wanted.most_moves:
                continue
            went.state, went.why = "cannot", "it hardly turns, and more is not allowed"
            return went
        advice, volts = next_volts(went.steps, wanted, supply.ceiling_v)
        went.state, went.why = _state(advice, went, wanted, supply.ceiling_v)
        if went.state != "stopped":
            return went
        why = advice.why
    return went


def read_when_steady(read: ReadSpeed, wait: Callable[[float], None], within_percent: float) -> ReadSpeed:
    """Return a way to read that waits until two looks agree: a motor speeds up as it warms, a worn one most.

    The first voltage is where it warms up; after that only readings near the goal are worth waiting for.
    """
    warm = False

    def steady() -> Reading | None:
        nonlocal warm
        last = read()
        for _ in range(MOST_LOOKS):
            if last is None or last.value is None or (warm and abs(last.value) > NEAR):
                break
            wait(LOOK_S)
            now = read()
            if now is None or now.value is None:
                return now
            still = abs(now.value - last.value) <= max(within_percent / 4, 2 * math.hypot(now.u or 0.0, last.u or 0.0))
            last = now
            if still:
                break
        warm = True
        return last

    return steady


def next_volts(steps: list[Step], wanted: Wanted, ceiling_v: float) -> tuple[Trim, float]:
    """Ask trim what to do; give its advice and the voltage that follows from it."""
    here = steps[-1].volts
    advice = advise(problem_of([s for s in steps if not s.hardly_turns], wanted, ceiling_v))
    volts = here * math.exp(advice.move.get("supply", 0.0) / 100)
    return advice, min(math.floor(volts / VOLT_STEP + 0.5) * VOLT_STEP, ceiling_v)


def problem_of(steps: list[Step], wanted: Wanted, ceiling_v: float) -> Problem:
    """Put the steps so far as trim wants them."""
    first = steps[0].volts
    high = 100 * math.log(ceiling_v / first)
    knob = Knob("supply", "percent", step_limit=_farthest(steps[-1]), high=max(high, 0.0))
    doubts = [s.error_percent.u for s in steps if s.error_percent.u]
    target = Target("speed", "percent", -wanted.within_percent, wanted.within_percent, u=max(doubts, default=None))
    aged = zip(steps, range(len(steps) - 1, -1, -1), strict=True)
    trials = tuple(Trial((100 * math.log(s.volts / first),), (_seen(s.error_percent, age),)) for s, age in aged)
    return Problem((knob,), (target,), trials, (Expectation(0, 0, EXPECTED, EXPECTED_U),))


def _farthest(step: Step) -> float:
    """Return how far the voltage may go from here, per cent of its logarithm: farther while the motor is very slow."""
    lacks = -100 * math.log(max(1e-3, 1 + (step.error_percent.value or 0.0) / 100))
    return max(LARGEST_MOVE, SHARE_OF_GAP * lacks)


def _seen(error: Reading, age: int) -> Seen:
    ratio = max(1e-3, 1 + (error.value or 0.0) / 100)
    return Seen(value=100 * math.log(ratio), u=math.hypot((error.u or 0.0) / ratio, DRIFT * age) or None)


def _state(advice: Trim, went: BroughtIn, wanted: Wanted, ceiling_v: float) -> tuple[str, str]:
    """Return whether it goes on ("stopped" until somebody says otherwise)."""
    if advice.state == "done":
        return "done", "the speed is shown within"
    if advice.state == "cannot":
        why = f"no voltage up to the ceiling of {ceiling_v:g} V is expected to bring it in"
        return "cannot", f"{why}; a governor may hold it, or the load is too heavy"
    if went.moves >= wanted.most_moves:
        return "not enough moves", f"{wanted.most_moves} moves did not bring it in"
    return "stopped", "it was stopped"
