r"""Do the trials agree? Rivals of the smooth account, weighed by how well each explains all that was read.

    smooth      the trials as they stand                   mistyped   one reading: factor ten, sign, digits, box
    misread     one reading, by a leaf                     slipped    all readings, or one, from a trial on
    swapped     two screws exchanged in one turn, for good or in the record alone

Picture (o = trial; the steep screw and the misplaced point are both possible; the fourth trial decides):

    reading          o 3
                     :            smooth:    odds of so steep a screw, of so sharp a bend after it
         o 1   o 2   :   o 4      mistyped:  odds of a slip of the pen, and of 1, 2, 4 and 3/10 on one line
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from scipy.special import logsumexp

from tapewright.gauges.document import SlipKind
from tapewright.gauges.trim.learning import scales_of
from tapewright.gauges.trim.problem import Problem, Seen, Slip
from tapewright.gauges.trim.reading_odds import ReadingOdds
from tapewright.gauges.trim.sensitivity import Scales

#: odds beforehand against a reading, or a turn, that is right. Our choices; benchmarks/trim_slips.py tries them
WRONG_READING, WRONG_BOX, BY_A_LEAF, WHOLE_TRIAL = 0.03, 0.005, 0.01, 0.005
SLIPPED, SLIPPED_ONE, SWAPPED = 0.01, 0.003, 0.01
#: of wrong readings, those by a factor of ten, by the sign, by two digits exchanged; the others are anything
FORMS = {"ten": 0.3, "sign": 0.1, "digits": 0.2}
ANYTHING = 0.4
#: combinations of scales that swapped screws are weighed with, of those that explain the trials best
FEW = 10
#: log odds under which an account is not kept
HOPELESS = -12.0


@dataclass(frozen=True, slots=True)
class Account:
    """One account of the trials.

    Attributes:
        kind: what went wrong; empty for the smooth account.
        trial: at which trial, from 0.
        what: the reading or the screws concerned; empty for all.
        would_fit: name and the number that would fit.
        problem: the trials as this account has them.
        weight: its probability; those of all accounts sum to 1.
    """

    kind: SlipKind | None
    trial: int
    what: tuple[str, ...]
    would_fit: dict[str, float]
    problem: Problem
    weight: float

    @property
    def at_last(self) -> bool:
        """Return whether it doubts the trial that says where the machine stands now."""
        return self.kind is not None and self.trial == len(self.problem.trials) - 1


def beforehand(readings: int) -> float:
    """Return the probability, before anything is compared, that a trial of so many readings is not what it says."""
    return min(0.5, readings * (WRONG_READING + BY_A_LEAF) + WHOLE_TRIAL + SLIPPED + SWAPPED)


_Found = tuple[float, SlipKind | None, int, tuple[str, ...], dict[str, float], Problem]


def weigh(problem: Problem) -> tuple[list[Account], bool]:
    """Return the accounts of the trials, the likeliest first, and whether every reading is confirmed by others."""
    scales = scales_of(problem)
    seen = [ReadingOdds(problem, scales, j) for j in range(len(problem.targets))]
    smooth = sum(r.log_smooth for r in seen)
    found: list[_Found] = [(0.0, None, 0, (), {}, problem)]
    for r in seen:
        found += _of_one_reading(problem, r)
    found += _of_whole_trials(problem, seen) + _of_boxes(problem, seen)
    found += _of_slips(problem, seen) + _of_swaps(problem, scales, seen, smooth)
    logs = np.array([each[0] for each in found])
    weights = np.exp(logs - logsumexp(logs))
    order = np.argsort(-weights)
    named = [(weights[n], *found[n][1:]) for n in order]
    accounts = [Account(kind, trial, what, fit, was, float(w)) for w, kind, trial, what, fit, was in named]
    return _merged(accounts), all(r.confirmed for r in seen)


def _merged(accounts: list[Account]) -> list[Account]:
    """Put accounts of one reading of one trial together: which digit went wrong matters little."""
    groups: dict[tuple[object, ...], list[Account]] = {}
    for a in accounts:
        one = a.kind in ("mistyped", "misread") and len(a.what) == 1
        groups.setdefault(("reading" if one else a.kind, a.trial, a.what), []).append(a)
    out = []
    for first, *others in groups.values():
        total = first.weight + sum(a.weight for a in others)
        alone = not others or first.weight > 0.9 * total
        was = first.problem if alone else _without(first.problem, first.trial, first.what)
        out.append(replace(first, weight=total, problem=was))
    return sorted(out, key=lambda a: -a.weight)


def _with(problem: Problem, trial: int, j: int, seen: Seen | None) -> Problem:
    read = list(problem.trials[trial].read)
    read[j] = seen
    trials = list(problem.trials)
    trials[trial] = replace(trials[trial], read=tuple(read))
    return replace(problem, trials=tuple(trials))


def _without(problem: Problem, trial: int, names: tuple[str, ...]) -> Problem:
    for j, target in enumerate(problem.targets):
        if target.name in names:
            problem = _with(problem, trial, j, None)
    return problem


def _moved(seen: Seen, by: float) -> Seen:
    if seen.value is not None:
        return replace(seen, value=seen.value + by)
    assert seen.low is not None
    assert seen.high is not None
    return replace(seen, low=seen.low + by, high=seen.high + by)


def slips_of_the_pen(value: float) -> Iterator[tuple[str, float]]:
    """Return what may have been meant by a number: a tenth, ten times, the other sign, two digits exchanged."""
    yield "ten", value / 10
    yield "ten", value * 10
    if value:
        yield "sign", -value
    digits = f"{value:.6g}"
    for n in range(len(digits) - 1):
        for m in (n + 1, n + 2):
            pair = digits[n : m + 1]
            if m < len(digits) and pair[0].isdigit() and pair[-1].isdigit() and pair[0] != pair[-1]:
                if m == n + 2 and pair[1] != ".":
                    continue
                yield "digits", float(digits[:n] + pair[-1] + pair[1:-1] + pair[0] + digits[m + 1 :])


def _of_one_reading(problem: Problem, r: ReadingOdds) -> list[_Found]:
    found: list[_Found] = []
    name = (r.target.name,)
    for n, t in enumerate(r.at):
        seen, value = r.seen[n], float(r.value[n])
        log_without, expected = r.without(n)
        meant = list(slips_of_the_pen(value)) if seen.value is not None else []
        meant += [] if seen.value is not None else _of_ends(seen)
        each = {form: sum(f == form for f, _ in meant) for form, _ in meant}
        for form, number in meant:
            log = np.log(WRONG_READING * FORMS[form] / each[form]) + r.changed(n, number - value) - r.log_smooth
            fixed = _with(problem, int(t), r.j, _moved(seen, number - value))
            found.append((log, "mistyped", int(t), name, {r.target.name: round(number, 9)}, fixed))
        log = np.log(WRONG_READING * ANYTHING) + log_without + r.log_anything - r.log_smooth
        fits = {r.target.name: _rounded(expected, float(r.spread[n]))}
        found.append((log, "mistyped", int(t), name, fits, _with(problem, int(t), r.j, None)))
        leaf = 0.0 if seen.value is not None else float(seen.high or 0.0) - float(seen.low or 0.0)
        for by in (leaf, -leaf) if leaf else ():
            log = np.log(BY_A_LEAF / 2) + r.changed(n, by) - r.log_smooth
            fixed = _with(problem, int(t), r.j, _moved(seen, by))
            found.append((log, "misread", int(t), name, {r.target.name: round(value + by, 9)}, fixed))
    return [each for each in found if each[0] > HOPELESS]


def _of_ends(seen: Seen) -> list[tuple[str, float]]:
    """Return the middles that a pair of gauges may have meant: both ends by a factor of ten."""
    assert seen.low is not None
    assert seen.high is not None
    middle = (seen.low + seen.high) / 2
    return [("ten", middle / 10), ("ten", middle * 10)]


def _rounded(value: float, spread: float) -> float:
    digits = int(np.clip(1 - np.floor(np.log10(max(spread, 1e-9))), 0, 9))
    return round(value, digits)


def _of_whole_trials(problem: Problem, seen: list[ReadingOdds]) -> list[_Found]:
    """A whole trial that is not what its positions say."""
    found: list[_Found] = []
    for t in range(len(problem.trials)):
        here = [(r, int(np.flatnonzero(r.at == t)[0])) for r in seen if t in r.at]
        if len(here) < 2:
            continue
        log, fits, was = np.log(WHOLE_TRIAL), {}, problem
        for r, n in here:
            log_without, expected = r.without(n)
            log += log_without + r.log_anything - r.log_smooth
            fits[r.target.name] = _rounded(expected, float(r.spread[n]))
            was = _with(was, t, r.j, None)
        found.append((float(log), "mistyped", t, (), fits, was))
    return found


def _of_boxes(problem: Problem, seen: list[ReadingOdds]) -> list[_Found]:
    """Two readings of one trial in each other's boxes."""
    found: list[_Found] = []
    for a, b in combinations(seen, 2):
        if a.target.unit != b.target.unit:
            continue
        for t in sorted(set(a.at.tolist()) & set(b.at.tolist())):
            n, m = int(np.flatnonzero(a.at == t)[0]), int(np.flatnonzero(b.at == t)[0])
            by = float(b.value[m] - a.value[n])
            if not by:
                continue
            log = np.log(WRONG_BOX) + a.changed(n, by) - a.log_smooth + b.changed(m, -by) - b.log_smooth
            was = _with(_with(problem, t, a.j, b.seen[m]), t, b.j, a.seen[n])
            fits = {a.target.name: float(b.value[m]), b.target.name: float(a.value[n])}
            found.append((float(log), "mistyped", t, (a.target.name, b.target.name), fits, was))
    return found


def _of_slips(problem: Problem, seen: list[ReadingOdds]) -> list[_Found]:
    """Something gave way: all readings, or one, lie otherwise from a trial on."""
    found: list[_Found] = []
    for t in range(1, len(problem.trials)):
        gains = [r.stepped(t) - r.log_smooth for r in seen]
        if len(seen) > 1:
            was = replace(problem, slips=(*problem.slips, Slip(t)))
            found.append((float(np.log(SLIPPED) + sum(gains)), "slipped", t, (), {}, was))
        for r, gain in zip(seen, gains, strict=True):
            was = replace(problem, slips=(*problem.slips, Slip(t, r.j)))
            odds = SLIPPED_ONE if len(seen) > 1 else SLIPPED
            found.append((float(np.log(odds) + gain), "slipped", t, (r.target.name,), {}, was))
    return found


def _of_swaps(problem: Problem, scales: Scales, seen: list[ReadingOdds], smooth: float) -> list[_Found]:
    """Two screws exchanged in one turn: for good, or in what was written down of that trial alone."""
    screws = problem.screws
    T, K = screws.shape
    ways, told = [], []
    for t in range(1, T):
        turned = screws[t] - screws[t - 1]
        for a, b in combinations(range(K), 2):
            if turned[a] == turned[b] or problem.knobs[a].unit != problem.knobs[b].unit:
                continue
            change = np.zeros(K)
            change[a], change[b] = turned[b] - turned[a], turned[a] - turned[b]
            for only in (False, True) if t < T - 1 else (False,):
                other = screws.copy()
                other[t : t + 1 if only else T] += change
                ways.append(other)
                told.append((t, a, b))
    if not ways:
        return []
    logs = np.full(len(ways), np.log(SWAPPED) - smooth)
    for r in seen:
        few = np.argsort(-r.log_weight)[:FEW] if K > 2 else np.arange(len(r.log_weight))
        lost = logsumexp(r.log_weight) - logsumexp(r.log_weight[few])
        log_weight, _, _ = r.densities(problem, scales, np.array(ways), few)
        logs += logsumexp(log_weight, axis=1) + lost
    found: list[_Found] = []
    for log, other, (t, a, b) in zip(logs, ways, told, strict=True):
        trials = tuple(
            replace(trial, at=tuple(map(float, at))) for trial, at in zip(problem.trials, other, strict=True)
        )
        names = (problem.knobs[a].name, problem.knobs[b].name)
        fits = {names[0]: round(float(other[t, a]), 6), names[1]: round(float(other[t, b]), 6)}
        found.append((float(log), "swapped", t, names, fits, replace(problem, trials=trials)))
    return found
