r"""What trim says: done, move, probe or cannot, with the reason.

every reading shown within?                    -> done
knobs whose effect is not known yet?           -> probe: the likeliest move, plus one knob turned to learn it
a move that probably lands, or gets nearer?    -> move
well known, and still nothing lands?           -> cannot: which limits conflict, or which knob does nothing
"""

from dataclasses import replace

import numpy as np
from msgspec import structs

from tapewright.gauges.cautions import cautions_of_trim
from tapewright.gauges.document import Trim, TrimState
from tapewright.gauges.gauge import out_of_proportion
from tapewright.gauges.trim.hopeless import CHECK_IDLE, does_nothing, why_hopeless
from tapewright.gauges.trim.interval_fit import BoolArray, FloatArray
from tapewright.gauges.trim.learning import learn
from tapewright.gauges.trim.odd_trials import ENOUGH_READS, hold, reads_here
from tapewright.gauges.trim.problem import Problem, Seen
from tapewright.gauges.trim.search import (
    best_move,
    log_inside,
    log_inside_one,
    odds_inside,
    odds_one,
    room,
)
from tapewright.gauges.trim.sensitivity import CLEAR, SMALL, Model, predict, slopes
from tapewright.number import Limit, Reading, State, Verdict, judge, judge_interval
from tapewright.number.verdict import refuse

PROBE_STEPS = 0.5
#: so many unknown knobs are turned together; patterns looked at; outcomes that are about as little known, in log doubt
MANY, WAYS, WAYS_SEED, ALIKE = 3, 128, 20240302, 0.1
GOOD_ODDS, HOPELESS = 0.5, 0.03
#: how sure a pair of gauges must leave it that the truth is inside, and what a further move must add to that
ENOUGH, WORTH_IT = 0.9, 0.03
COVERAGE = 2.0
#: a move is not called surer than this while some reading is confirmed by no other: one slip of the pen spoils it
UNCONFIRMED = 0.88
#: how many of the moves that were sure by a wrong account land after all. Our choice; benchmarks/trim_slips.py tries it
LANDS_AFTER_ALL = 0.3
#: all inside at once is read again where it was less likely than this
SURPRISING = 0.1
UNEXPECTED = "All inside, against all odds: read every gauge again, each in its own box, before it is believed."
READ_AGAIN = "Leave the knobs where they are and read every gauge again before anything is turned."


def advise(problem: Problem) -> Trim:
    """Work out the next move from all trials so far (at least one).

    The likeliest account of the trials leads; how sure a move is counts the others in, each with its own outcome. What
    is doubtful about the place where the machine stands is read again first: no turn costs less.
    """
    held = hold(problem)
    models = [(a.weight, learn(a.problem)) for a in (held.lead, *held.beside)]
    _, lead = models[0]
    ask = held.last_doubtful and reads_here(problem) < ENOUGH_READS
    if ask:
        advice = _advice(lead, "probe", np.zeros(len(problem.knobs)), READ_AGAIN)
    else:
        advice = _best_of(models, _of_one(lead))
        if advice.state == "done" and _surprising(held.lead.problem):
            ask, advice = True, _advice(lead, "probe", np.zeros(len(problem.knobs)), UNEXPECTED)
    move = np.array([advice.move.get(k.name, 0.0) for k in problem.knobs])
    told = sum(weight for weight, _ in models)
    sure = (
        sum(weight * odds_inside(model, move) for weight, model in models) + (1 - told) * advice.sure * LANDS_AFTER_ALL
    )
    here = {k.name: float(at) for k, at in zip(problem.knobs, problem.trials[-1].at, strict=True)}
    return structs.replace(
        advice,
        sure=min(1.0 if held.confirmed or not move.any() else UNCONFIRMED, float(sure)),
        why=" ".join([*(odd.why for odd in held.odd), advice.why]),
        undo=here,
        goal={name: at + advice.move.get(name, 0.0) for name, at in here.items()},
        odd_trials=held.odd,
        now=tuple(_doubted(v) for v in advice.now) if ask or held.lead.at_last else advice.now,
    )


def _doubted(verdict: Verdict) -> Verdict:
    """Return the verdict of a reading that is to be read again: nothing is shown by it."""
    return verdict.but(state=State.NOT_SHOWN, why="the last trial does not fit the others; read it again")


def _surprising(problem: Problem) -> bool:
    """Return whether the trials before the last one held it most unlikely that it would come to lie inside."""
    *before, last = problem.trials
    if not before or reads_here(problem) > 1:
        return False
    model = learn(replace(problem, trials=tuple(before)))
    return odds_inside(model, np.array(last.at) - model.here) < SURPRISING


def _best_of(models: list[tuple[float, Model]], advice: Trim) -> Trim:
    """Return the advice, or the move of a rival account that lands more surely over all accounts together."""
    if len(models) < 2 or not advice.move:
        return advice
    _, lead = models[0]
    names = [k.name for k in lead.problem.knobs]
    first = np.array([advice.move.get(name, 0.0) for name in names])
    moves = [first, first / 2, *(best_move(model)[0] for _, model in models[1:])]
    odds = [sum(weight * odds_inside(model, move) for weight, model in models) for move in moves]
    best = int(np.argmax(odds))
    if best == 0 or odds[best] < odds[0] + WORTH_IT:
        return advice
    return _advice(lead, advice.state, moves[best], "Not all trials agree; this move suits every account of them best.")


def _of_one(model: Model) -> Trim:
    """Return the advice by one account of the trials."""
    problem = model.problem
    K = len(problem.knobs)
    stay = np.zeros(K)
    if all(shown_within(model, j) for j in range(len(problem.targets))):
        return _done_or_better(model)
    move, log_sure = best_move(model)
    unknown = unknown_knobs(model)
    if np.exp(log_sure) >= GOOD_ODDS and (move.any() or _repeating_helps(problem)):
        return _advice(model, "move", move, _why_move(model, move))
    if unknown.sum() >= MANY:
        return _advice(model, "probe", _probe_many(model, move, unknown), _why_many(model, unknown))
    if unknown.any():
        probe, knob = _probe(model, move, unknown)
        if knob is not None:
            return _advice(model, "probe", probe, _why_probe(model, knob))
    idle = [n for n in range(K) if does_nothing(model, n)]
    if len(idle) == K:
        return _nothing_moves(model)
    if np.exp(log_sure) < HOPELESS:
        reason = why_hopeless(model)
        if reason:
            return _advice(model, "cannot", stay, reason)
    return _advice(model, "move", move, _why_move(model, move))


def _done_or_better(model: Model) -> Trim:
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
    return reads_here(problem) < 2 and all(s is None or s.value is not None for s in problem.trials[-1].read)


def _nothing_moves(model: Model) -> Trim:
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


def _probe_many(model: Model, move: FloatArray, unknown: BoolArray) -> FloatArray:
    """Turn all unknown knobs at once, each by its part of a step this way or that, beside what the known ones do.

    Of many patterns of ways the one is taken whose outcome is least known (a one-step D-optimal design); after as many
    trials as there are knobs each effect stands on all of them, not on one.
    """
    least, most = room(model, 1.0)
    ways = np.random.default_rng(WAYS_SEED).choice([-1.0, 1.0], (WAYS, len(move)))
    probes = np.clip(np.where(unknown, ways * PROBE_STEPS * model.scales.step, move), least, most)
    doubt = sum(np.log(predict(model, j, probes, 1)[2][0]) for j in range(len(model.problem.targets)))
    best = np.flatnonzero(doubt > np.max(doubt) - ALIKE)
    return np.asarray(probes[best[np.argmax(log_inside(model, probes[best], 4))]])


def _why_many(model: Model, unknown: BoolArray) -> str:
    names = ", ".join(model.problem.knobs[n].name for n in np.flatnonzero(unknown))
    return f"What {names} do is not known yet: turn them together, measure, and note it. Never force one."


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


def _advice(model: Model, state: TrimState, move: FloatArray, why: str) -> Trim:
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
    now = tuple(verdict_now(model, j) for j in range(len(problem.targets)))
    asked = [(v.limit.check, times) for v in now if (times := out_of_proportion(v)) is not None]
    why += "".join(f" {name} is {times:.0f} times its limit: the right box, the right unit?" for name, times in asked)
    here = {k.name: float(p) for k, p in zip(problem.knobs, model.here, strict=True)}
    goal = {name: position + named.get(name, 0.0) for name, position in here.items()}
    units = {k.name: k.unit for k in problem.knobs}
    return Trim(
        cautions=cautions_of_trim(problem),
        sensitivity=sensitivity,
        move=named,
        predicted=predicted,
        sure=min(1.0, float(sure)),
        state=state,
        why=why,
        now=now,
        undo=here,
        trials=len(problem.trials),
        goal=goal,
        knob_units=units,
    )


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
