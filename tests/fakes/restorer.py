"""Restorers at the practice machine's screws: one who follows the advice, one who turns one screw after the other."""

from dataclasses import dataclass, field

import numpy as np

from tapewright.gauges.trim.advice import advise
from tapewright.gauges.trim.problem import Knob, Problem, Seen, Target, Trial
from tapewright.practice.adjusters import Adjusters, Mechanism


@dataclass
class Log:
    """What happened: moves made, how it ended, whether the truth was inside then, and each promise with its outcome."""

    moves: int = 0
    inside_after: int | None = None
    state: str = "open"
    inside: bool = False
    promises: list[tuple[str, float, bool]] = field(default_factory=list)


def seen(look):
    return tuple(Seen(value=low) if low == high else Seen(low=low, high=high) for low, high in look)


def problem_of(mechanism: Mechanism, trials) -> Problem:
    knobs = tuple(
        Knob(f"screw {n + 1}", "turn", float(s), float(p))
        for n, (s, p) in enumerate(zip(mechanism.step_limit, mechanism.stated_play, strict=True))
    )
    ends = zip(mechanism.low, mechanism.high, mechanism.stated_u, strict=True)
    targets = tuple(Target(f"reading {n + 1}", "mm", float(a), float(b), float(u)) for n, (a, b, u) in enumerate(ends))
    return Problem(knobs, targets, tuple(trials))


def follow_advice(mechanism: Mechanism, rng: np.random.Generator, most: int = 12, tell=None) -> Log:
    """Turn what the advice says until it says done or cannot; never look at the truth except to keep score."""
    hands, trials, log = Adjusters(mechanism.truth, rng), [], Log()
    while True:
        trials.append(Trial(tuple(map(float, hands.screws)), seen(hands.look())))
        log.inside = mechanism.inside(hands.true_readings())
        if log.promises and log.moves:
            log.promises[-1] = (*log.promises[-1][:2], log.inside)
        if log.inside and log.inside_after is None:
            log.inside_after = log.moves
        advice = advise(problem_of(mechanism, trials))
        if tell:
            tell(log.moves, hands.true_readings(), advice)
        log.state = advice.state
        if advice.state in ("done", "cannot") or log.moves >= most:
            return log
        log.promises.append((advice.state, advice.sure, False))
        names = [f"screw {n + 1}" for n in range(len(mechanism.step_limit))]
        hands.turn(np.array([advice.move.get(name, 0.0) for name in names]))
        log.moves += 1


def turn_one_after_the_other(mechanism: Mechanism, rng: np.random.Generator, most: int = 60) -> Log:
    """Set each reading to its middle with its own screw, by rule of three from the last turn of that screw alone."""
    hands, log = Adjusters(mechanism.truth, rng), Log()
    J, K = mechanism.truth.slopes.shape
    middle = (mechanism.low + mechanism.high) / 2
    slope = np.full(K, np.nan)
    screw = 0
    while log.moves < most:
        look = np.array(hands.look()).mean(1)
        log.inside = mechanism.inside(hands.true_readings())
        shown = all(a >= lo - 1e-9 and b <= hi + 1e-9 for (a, b), lo, hi in
                    zip(hands.look(), mechanism.low, mechanism.high, strict=True))  # fmt: skip
        if shown:
            log.state = "done"
            return log
        own = [j for j in range(J) if j % K == screw]
        j = max(own, key=lambda j: abs(look[j] - middle[j]))
        limit = mechanism.step_limit[screw]
        off = middle[j] - look[j]
        if abs(off) < (mechanism.high[j] - mechanism.low[j]) / 4:
            screw = (screw + 1) % K
            if K == 1:
                off = off or 0.01
            else:
                own = [j for j in range(J) if j % K == screw]
                j = max(own, key=lambda j: abs(look[j] - middle[j]))
                limit, off = mechanism.step_limit[screw], middle[j] - look[j]
        turn = limit / 2 if np.isnan(slope[screw]) else np.clip(off / slope[screw], -limit, limit)
        change = np.zeros(K)
        change[screw] = turn
        hands.turn(change)
        log.moves += 1
        after = np.array(hands.look()).mean(1)
        got = (after[j] - look[j]) / turn if turn else np.nan
        if np.isfinite(got) and abs(got) > 1e-3:
            slope[screw] = got
    return log
