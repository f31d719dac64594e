r"""The next test: how many bits it is expected to tell about the fault sets, for each minute of work.

For fault sets x with weights w(x) and outcomes o of a test

    information = sum over x, o of  w(x) P(o|x) log2( P(o|x) / P(o) ),     P(o) = sum over x of w(x) P(o|x)

which is the mutual information of fault set and outcome (from memory, not seen). A test that shows many
findings is weighed by the seven that tell most, so its figure is a lower bound.

Gates: a test whose gate is not on record is not advised; the test that opens the gate is, and is credited with
what it opens. Ties go to the test that dismantles and risks less.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from tapewright.advisor.fault_sets import FaultSets
from tapewright.advisor.machine_model import DEPTHS, RISKS, Model, Test
from tapewright.advisor.network import BoolArray, FloatArray

MOST_FINDINGS = 7
#: Below this a test is not worth its minutes.
LEAST_BITS = 0.005
#: Two tests within this share of each other are a tie.
TIE = 0.03


@dataclass(frozen=True, slots=True)
class Bounds:
    """What the user allows: highest risk, deepest dismantling, minutes for one test."""

    risk: str = RISKS[-1]
    depth: str = "covers"
    minutes: float = 60.0

    def allow(self, test: Test) -> bool:
        """Return whether a test lies within the bounds."""
        return (
            RISKS.index(test.risk) <= RISKS.index(self.risk)
            and DEPTHS.index(test.depth) <= DEPTHS.index(self.depth)
            and test.minutes <= self.minutes
        )


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """One test with what it is expected to tell.

    Attributes:
        test: the test.
        findings: places of the findings it was weighed by, the most telling first.
        bits: expected information.
        rate: what it is ranked by: bits for each minute, gates counted in.
        opens_for: name of the test behind the gate that this one opens; "" when it is advised for itself.
    """

    test: Test
    findings: tuple[int, ...]
    bits: float
    rate: float
    opens_for: str = ""


def weigh_tests(
    model: Model,
    sets: FaultSets,
    strength: FloatArray,
    examined: BoolArray,
    on_record: frozenset[str],
    bounds: Bounds,
    in_question: BoolArray | None = None,
) -> list[Weighed]:
    """Return the tests worth doing, best first.

    Args:
        model: the machine.
        sets: fault sets that stand for the posterior.
        strength: shape (n, m).
        examined: shape (m,), findings that are known.
        on_record: gates that are passed.
        bounds: what the user allows.
        in_question: shape (n,), causes that may be what is complained of: a test counts by what it tells about these;
            all when None.
    """
    every = chance_absent(sets, strength)
    stay_away, weight = (every, sets.weight) if in_question is None else told_apart(sets, every, in_question)
    touches = np.any(strength[slice(None) if in_question is None else in_question] > 0, axis=0)
    single = _single_bits(stay_away, weight)
    place = {name: number for number, name in enumerate(model.findings)}
    weighed = []
    for test in model.tests.values():
        if bounds.allow(test):
            shown = (place[name] for name in model.shown_by(test.name))
            open_findings = [f for f in shown if not examined[f] and touches[f]]
            best = tuple(sorted(open_findings, key=lambda f: -single[f])[:MOST_FINDINGS])
            bits = float(single[best[0]]) if len(best) == 1 else joint_bits(stay_away, weight, best)
            weighed.append(Weighed(test, best, bits, bits / test.minutes))
    return _ranked(_through_gates(weighed, on_record))


def chance_absent(sets: FaultSets, strength: FloatArray) -> FloatArray:
    """Give, shape (k, m), the chance that each finding stays away in each fault set."""
    with np.errstate(divide="ignore"):
        log_miss = np.log1p(-np.minimum(strength, 1.0 - 1e-12))
    return np.asarray(sets.stay_away * np.exp(sets.present.astype(np.float64) @ log_miss))


def told_apart(sets: FaultSets, stay_away: FloatArray, in_question: BoolArray) -> tuple[FloatArray, FloatArray]:
    """Return chances and weights of the fault sets, those put together that differ only in causes not in question.

    Findings of one test then count as independent within such a group, which they nearly are: what is left in it are
    causes that hardly anything speaks for.
    """
    kinds, group = np.unique(sets.present[:, in_question], axis=0, return_inverse=True)
    weight: FloatArray = np.zeros(len(kinds))
    np.add.at(weight, group.ravel(), sets.weight)
    sums = np.zeros((len(kinds), stay_away.shape[1]))
    np.add.at(sums, group.ravel(), sets.weight[:, None] * stay_away)
    return sums / weight[:, None], weight


def joint_bits(stay_away: FloatArray, weight: FloatArray, findings: Iterable[int]) -> float:
    """Return the expected information of several findings together, all their outcomes counted."""
    outcomes = np.ones((len(weight), 1))
    for finding in findings:
        absent = stay_away[:, finding, None]
        outcomes = np.concatenate([outcomes * absent, outcomes * (1.0 - absent)], axis=1)
    bits = _entropy(np.asarray(weight @ outcomes)) - float(np.sum(weight * _row_entropy(outcomes)))
    return max(0.0, bits)


def _single_bits(stay_away: FloatArray, weight: FloatArray) -> FloatArray:
    overall = weight @ stay_away
    return np.maximum(0.0, _two_way(overall) - weight @ _two_way(stay_away))


def _two_way(p: FloatArray) -> FloatArray:
    return np.asarray(-_plogp(p) - _plogp(1.0 - p))


def _entropy(p: FloatArray) -> float:
    return float(-np.sum(_plogp(p)))


def _row_entropy(p: FloatArray) -> FloatArray:
    return np.asarray(-np.sum(_plogp(p), axis=1))


def _plogp(p: FloatArray) -> FloatArray:
    return np.asarray(p * np.log2(np.maximum(p, 1e-300)))


def _through_gates(weighed: list[Weighed], on_record: frozenset[str]) -> list[Weighed]:
    """Take out what stands behind a closed gate; credit the gate's openers with the best of it."""
    closed = {w.test.name: [gate for gate in w.test.needs if gate not in on_record] for w in weighed}
    ready = [w for w in weighed if not closed[w.test.name]]
    out = []
    for w in ready:
        behind = [b for b in weighed if closed[b.test.name][:1] == [w.test.opens]] if w.test.opens else []
        best = max(behind, key=lambda b: b.bits / (b.test.minutes + w.test.minutes), default=None)
        together = 0.0 if best is None else (w.bits + best.bits) / (w.test.minutes + best.test.minutes)
        if best is not None and w.test.opens not in on_record and together > w.rate:
            out.append(Weighed(w.test, w.findings, w.bits, together, best.test.name))
        else:
            out.append(w)
    return [w for w in out if w.bits >= LEAST_BITS or (w.opens_for and w.rate * w.test.minutes >= LEAST_BITS)]


def _ranked(weighed: list[Weighed]) -> list[Weighed]:
    """Best rate first; near ties by depth, then risk, then minutes."""
    left, out = sorted(weighed, key=lambda w: (-w.rate, w.test.name)), []
    while left:
        tied = [w for w in left if w.rate >= (1.0 - TIE) * left[0].rate]
        tied.sort(key=lambda w: (DEPTHS.index(w.test.depth), RISKS.index(w.test.risk), w.test.minutes, w.test.name))
        out.append(tied[0])
        left.remove(tied[0])
    return out
