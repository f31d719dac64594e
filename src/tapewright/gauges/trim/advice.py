r"""What trim says: done, move, probe or cannot, with the reason.

every reading shown within?                    -> done
knobs whose effect is not known yet?           -> probe: the likeliest move, plus one knob turned to learn it
a move that probably lands, or gets nearer?    -> move
well known, and still nothing lands?           -> cannot: which limits conflict, or which knob does nothing
"""

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from tapewright.gauges.cautions import cautions_of_trim
from tapewright.gauges.trim.interval_fit import BoolArray, FloatArray
from tapewright.gauges.trim.learning import learn
from tapewright.gauges.trim.problem import Problem, Seen
from tapewright.gauges.trim.search import (
    aimed_move,
    best_move,
    distances,
    least_distance,
    log_inside,
    log_inside_one,
    odds_inside,
    odds_one,
    room,
)
from tapewright.gauges.trim.sensitivity import Model, predict, slopes
from tapewright.number import Limit, Reading, State, Verdict, judge, judge_interval
from tapewright.number.verdict import refuse

#: an effect is known when it stands clear of its doubt, or when the doubt of a whole step is small beside the limits
CLEAR, SMALL = 2.5, 0.35
PROBE_STEPS = 0.5
GOOD_ODDS, HOPELESS = 0.5, 0.03
#: how sure a pair of gauges must leave it that the truth is inside, and what a further move must add to that
ENOUGH, WORTH_IT = 0.9, 0.03
#: settings looked at when all seems lost, in step limits; plainly outside, in standard deviations; near, in steps
FAR, FAR_UNCLEAR, PLAINLY, NEAR = 10.0, 5.0, 3.0, 0.1
COVERAGE = 2.0
CHECK_IDLE = "Is it the right screw, and is its lock nut loose?"


@dataclass(frozen=True, slots=True)
class Advice:
    """The answer.

    Attributes:
        state: "probe", "move", "done" or "cannot".
        move: knob -> change from where it stands, in its unit; knobs left alone are absent.
        predicted: reading -> what it will be after the move.
        sure: probability that every reading is then truly inside.
        sensitivity: reading -> knob -> effect in reading unit per knob unit.
        why: the reason in a few short sentences.
        now: a verdict for each reading as it stands, from the last trial.
        undo: knob -> the position to go back to; goal: knob -> the position after the move.
        knob_units: knob -> unit.
        trials: how many there are so far, the first being as found.
        cautions: what to mind before a knob is turned.
    """

    state: str
    move: dict[str, float]
    predicted: dict[str, Reading]
    sure: float
    sensitivity: dict[str, dict[str, Reading]]
    why: str
    now: tuple[Verdict, ...]
    undo: dict[str, float]
    goal: dict[str, float]
    knob_units: dict[str, str]
    trials: int
    cautions: tuple[str, ...]


def advise(problem: Problem) -> Advice:
    """Work out the next move from all trials so far (at least one)."""
    model = learn(problem)
    K = len(problem.knobs)
    stay = np.zeros(K)
    if all(shown_within(model, j) for j in range(len(problem.targets))):
        return _done_or_better(model)
    move, log_sure = best_move(model)
    unknown = unknown_knobs(model)
    if np.exp(log_sure) >= GOOD_ODDS and (move.any() or _repeating_helps(problem)):
        return _advice(model, "move", move, _why_move(model, move))
    if unknown.any():
        probe, knob = _probe(model, move, unknown)
        if knob is not None:
            return _advice(model, "probe", probe, _why_probe(model, knob))
    idle = [n for n in range(K) if _does_nothing(model, n)]
    if len(idle) == K:
        return _nothing_moves(model)
    if np.exp(log_sure) < HOPELESS:
        reason = why_hopeless(model)
        if reason:
            return _advice(model, "cannot", stay, reason)
    return _advice(model, "move", move, _why_move(model, move))


def _done_or_better(model: Model) -> Advice:
    """Say done; but where a go/no-go pair lies at a limit, ask for a move that makes more sure, when there is one.

    A pair is taken at its word, and the hand behind it has a feel: at the very end of a limit the truth may lie just
    beyond it.
    """
    stay = np.zeros(len(model.problem.knobs))
    last = model.problem.trials[-1].read
    pairs = [j for j, seen in enumerate(last) if seen is not None and seen.value is None]
    odds = {j: odds_one(model, j, stay) for j in pairs}
    doubtful = [j for j in pairs if odds[j] < ENOUGH]
    if not doubtful:
        return _advice(model, "done", stay, "Every reading is shown within its limits.")
    names = ", ".join(f"{model.problem.targets[j].name} {100 * odds[j]:.0f} %" for j in doubtful)
    move, _ = best_move(model)
    if move.any() and odds_inside(model, move) > odds_inside(model, stay) + WORTH_IT:
        why = f"Inside by the gauge's word, but near an end: sure of it {names}. This move makes it surer."
        return _advice(model, "move", move, why)
    return _advice(model, "done", stay, f"Every reading is inside by the gauge's word; the least sure: {names}.")


def _repeating_helps(problem: Problem) -> bool:
    """Return if to measure again at the same place: a number gets better by it, once; a gauge pair says the same."""
    *before, last = problem.trials
    repeated = bool(before) and before[-1].at == last.at
    return not repeated and all(seen is None or seen.value is not None for seen in last.read)


def _nothing_moves(model: Model) -> Advice:
    """Ask for a whole step of the knob least tried; when all had theirs, say that none of them does anything."""
    tried = np.ptp(np.array([t.at for t in model.problem.trials]), axis=0) / model.scales.step
    knob = int(np.argmin(tried))
    least, most = room(model, 1.0)
    step = most if most[knob] >= -least[knob] else least
    if tried[knob] >= 1.0 or not step[knob]:
        names = " and ".join(k.name for k in model.problem.knobs)
        return _advice(model, "cannot", np.zeros(len(tried)), f"{names}: turning moves no reading. {CHECK_IDLE}")
    why = (
        f"{model.problem.knobs[knob].name} has shown no effect yet: turn it farther. Stop if it binds; do not force it."
    )
    return _advice(model, "probe", np.where(np.arange(len(tried)) == knob, step, 0.0), why)


def shown_within(model: Model, j: int) -> bool:
    """Return whether the last trial shows reading j within.

    An interval is taken at its word: wholly inside. A number must be inside with its U = 2u, either its own
    or what all trials together leave of it.
    """
    target, seen = model.problem.targets[j], model.problem.trials[-1].read[j]
    low = -np.inf if target.low is None else target.low
    high = np.inf if target.high is None else target.high
    if seen is None:
        return False
    if seen.value is None:
        a, b = _ends(seen)
        slack = 1e-9 * max(abs(x) for x in (a, b, 1e-300) if np.isfinite(x))
        return bool(low <= a + slack and b - slack <= high)
    if not low <= seen.value <= high:
        return False
    u = seen.u if seen.u is not None else model.scales.u[j]
    mean, sd = _pooled(model, j, np.zeros(len(model.problem.knobs)))
    return any(low <= m - COVERAGE * s and m + COVERAGE * s <= high for m, s in ((seen.value, u), (mean, sd)))


def unknown_knobs(model: Model) -> BoolArray:
    """Say for each knob (K,) whether its effect is still unknown on some reading it could upset, and on none clear."""
    K = len(model.problem.knobs)
    clear, small = np.zeros(K, dtype=bool), np.ones(K, dtype=bool)
    for j in range(len(model.problem.targets)):
        centre, doubt = slopes(model, j)
        clear |= np.abs(centre) > CLEAR * doubt
        small &= doubt < SMALL * model.scales.width[j]
    return np.asarray(~(clear | small))


def _probe(model: Model, move: FloatArray, unknown: BoolArray) -> tuple[FloatArray, int | None]:
    """Turn one unknown knob, beside what the known knobs are to do anyway; the direction likelier to land."""
    least, most = room(model, 1.0)
    for knob in np.flatnonzero(unknown):
        tried = model.problem.trials
        moved = max(abs(t.at[knob] - tried[0].at[knob]) for t in tried) / model.scales.step[knob]
        size = model.scales.step[knob] * (PROBE_STEPS if moved < PROBE_STEPS / 2 else 1.0)
        ways = [
            np.clip(np.where(np.arange(len(move)) == knob, sign * size, np.where(unknown, 0.0, move)), least, most)
            for sign in (1, -1)
        ]
        ways = [w for w in ways if abs(w[knob]) > 0.1 * size]
        if ways and moved < 3:
            logs = log_inside(model, np.array(ways))
            return ways[int(np.argmax(logs))], int(knob)
    return move, None


def why_hopeless(model: Model) -> str:
    """Find the reason why no setting in reach lands; empty when one may."""
    J = len(model.problem.targets)
    everything = tuple(range(J))
    if not _beyond_hope(model, everything):
        return ""
    dead = [k.name for n, k in enumerate(model.problem.knobs) if _does_nothing(model, n)]
    idle = f" {' and '.join(dead)} moves no reading. {CHECK_IDLE}" if dead else ""
    for size in (1, 2, 3):
        for group in combinations(everything, size):
            if size < J and _beyond_hope(model, group):
                return _conflict(model, [model.problem.targets[j].name for j in group]) + idle
    return _conflict(model, [t.name for t in model.problem.targets]) + idle


def _reach(model: Model) -> FloatArray:
    """How many steps of each knob are looked at: many where its effect is clear, few where none was seen."""
    clear = np.zeros(len(model.problem.knobs), dtype=bool)
    for j in range(len(model.problem.targets)):
        centre, doubt = slopes(model, j)
        clear |= np.abs(centre) > CLEAR * doubt
    aimed = np.abs(aimed_move(model, 1000.0)) / model.scales.step
    return np.where(clear, np.maximum(FAR, 1.5 * aimed), FAR_UNCLEAR)


def _beyond_hope(model: Model, group: tuple[int, ...]) -> bool:
    """Return whether no setting in reach may bring the group inside.

    Either every setting leaves some reading out by several of its standard deviations, or the machine already
    stands where the group fits best and one of it is plainly outside.
    """
    best, distance = least_distance(model, _reach(model), group)
    if distance > PLAINLY:
        return True
    here = distances(model, np.zeros((1, len(best))), group).max()
    gone = np.abs(best) / model.scales.step
    return bool(here > PLAINLY and distance > PLAINLY / 2 and gone.max() < NEAR)


def _conflict(model: Model, names: list[str]) -> str:
    if len(names) == 1:
        return f"No setting of the knobs within reach brings {names[0]} inside its limits.{_ends_reached(model)}"
    if len(names) == 2:
        return f"The limits conflict: whatever brings {names[0]} inside puts {names[1]} outside.{_ends_reached(model)}"
    return f"The limits conflict: {', '.join(names)} cannot all be inside together.{_ends_reached(model)}"


def _ends_reached(model: Model) -> str:
    least, most = room(model, 1.0)
    ended = [
        k.name
        for k, a, b in zip(model.problem.knobs, least, most, strict=True)
        if (k.high is not None and b < 1e-9) or (k.low is not None and a > -1e-9)
    ]
    return f" {', '.join(ended)} is at its end: do not force it." if ended else ""


def _does_nothing(model: Model, knob: int) -> bool:
    for j in range(len(model.problem.targets)):
        centre, doubt = slopes(model, j)
        if abs(centre[knob]) > CLEAR * doubt[knob] or doubt[knob] > SMALL * model.scales.width[j]:
            return False
    return True


def _advice(model: Model, state: str, move: FloatArray, why: str) -> Advice:
    problem = model.problem
    move = np.array([_rounded(m, s) for m, s in zip(move, model.scales.step, strict=True)])
    named = {k.name: float(m) for k, m in zip(problem.knobs, move, strict=True) if m}
    predicted = {t.name: Reading(*_pooled(model, j, move), t.unit) for j, t in enumerate(problem.targets)}
    sensitivity = {}
    for j, t in enumerate(problem.targets):
        centre, doubt = slopes(model, j)
        sensitivity[t.name] = {
            k.name: Reading(float(c / s), float(d / s), f"{t.unit}/{k.unit}")
            for k, c, d, s in zip(problem.knobs, centre, doubt, model.scales.step, strict=True)
        }
    sure = odds_inside(model, move)
    if model.scales.assumed_u:
        names = ", ".join(model.scales.assumed_u)
        why += f" No doubt is stated for {names}; a twentieth of the limits' width was assumed."
    why += "".join(f" {t.assumed}" for t in problem.targets if t.assumed)
    here = {k.name: float(p) for k, p in zip(problem.knobs, model.here, strict=True)}
    goal = {name: position + named.get(name, 0.0) for name, position in here.items()}
    now = tuple(verdict_now(model, j) for j in range(len(problem.targets)))
    units = {k.name: k.unit for k in problem.knobs}
    return Advice(
        state, named, predicted, min(1.0, sure), sensitivity, why, now, here, goal, units, len(problem.trials),
        cautions_of_trim(problem),
    )  # fmt: skip


def verdict_now(model: Model, j: int) -> Verdict:
    """Judge reading j as it stands: shown within by `shown_within`, else by the last trial alone."""
    target, seen = model.problem.targets[j], model.problem.trials[-1].read[j]
    limit = Limit(target.name, target.low, target.high, target.unit, target.source)
    if seen is None:
        return refuse(limit, "not read in the last trial")
    u = seen.u if seen.u is not None else float(model.scales.u[j])
    if seen.value is None:
        return judge_interval(*_ends(seen), limit)
    alone = judge(Reading(seen.value, u, target.unit), limit)
    if alone.state is State.NOT_SHOWN and shown_within(model, j):
        pooled = Reading(*_pooled(model, j, np.zeros(len(model.problem.knobs))), target.unit)
        return judge(pooled, limit).but(why="all trials together show it")
    return alone


def _rounded(move: float, step: float) -> float:
    """Round to a thousandth of a step limit or finer, so that it reads well on a screw."""
    digits = int(np.ceil(-np.log10(step / 500)))
    return float(round(move, max(0, digits))) if digits > 0 else float(round(move))


def _pooled(model: Model, j: int, move: FloatArray) -> tuple[float, float]:
    weight, mean, sd = predict(model, j, move[None])
    centre = float(weight @ mean[:, 0])
    return centre, float(np.sqrt(weight @ (sd[:, 0] ** 2 + (mean[:, 0] - centre) ** 2)))


def _why_probe(model: Model, knob: int) -> str:
    k = model.problem.knobs[knob]
    return f"What {k.name} does is not known yet: turn it, measure, and note it. Stop if it binds; do not force it."


def _why_move(model: Model, move: FloatArray) -> str:
    if not move.any():
        return "Leave the knobs and measure again, with a finer gauge if there is one: probably inside, but not shown."
    logs = [float(log_inside_one(model, j, move[None])[0]) for j in range(len(model.problem.targets))]
    sure = float(np.exp(sum(logs)))
    least = model.problem.targets[int(np.argmin(logs))].name
    if sure >= GOOD_ODDS:
        return "The most probable move to bring every reading inside."
    return f"The farthest step towards the limits that is allowed at once; {least} is the reading least sure to land."


def _ends(seen: Seen) -> tuple[float, float]:
    return (-np.inf if seen.low is None else seen.low), (np.inf if seen.high is None else seen.high)
