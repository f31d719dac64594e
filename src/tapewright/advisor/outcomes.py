"""What each outcome of a test would mean, in words and figures.

Why a cause is believed: what speaks for it, what against, what has not been looked at.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from tapewright.advisor.evidence import Answer
from tapewright.advisor.fault_sets import FaultSets
from tapewright.advisor.machine_model import Cause, Model
from tapewright.advisor.network import FloatArray
from tapewright.advisor.next_test import Weighed

MOST_OUTCOMES = 4


@dataclass(frozen=True, slots=True)
class Outcome:
    """One outcome: what is found, how likely that is, which cause would then lead and with what probability."""

    finding: str
    says: str
    chance: float
    then: str
    then_says: str
    then_probability: float


@dataclass(frozen=True, slots=True)
class AdvisedTest:
    """A test to do next, ready to be shown."""

    name: str
    do: str
    minutes: float
    risk: str
    depth: str
    bits: float
    tells_apart: tuple[str, ...]
    cautions: tuple[str, ...]
    outcomes: tuple[Outcome, ...]
    opens: str
    why: str
    question: bool


def describe(model: Model, weighed: Weighed, sets: FaultSets, stay_away: FloatArray) -> AdvisedTest:
    """Describe a weighed test: outcomes from the fault sets, causes it tells apart."""
    test, names = weighed.test, list(model.findings)
    outcomes = []
    for place in weighed.findings[:MOST_OUTCOMES]:
        finding = model.findings[names[place]]
        outcomes.append(_outcome(model, finding.name, finding.says, sets, 1.0 - stay_away[:, place]))
    shown = weighed.findings[:1] if test.question else weighed.findings
    if shown:
        none = np.prod(stay_away[:, list(shown)], axis=1)
        outcomes.append(_outcome(model, "", "none of this", sets, none))
    return AdvisedTest(
        name=test.name,
        do=test.do,
        minutes=test.minutes,
        risk=test.risk,
        depth=test.depth,
        bits=weighed.bits,
        tells_apart=_apart(model, outcomes),
        cautions=test.cautions,
        outcomes=tuple(outcomes),
        opens=test.opens,
        why=_why(model, weighed),
        question=test.question,
    )


def _outcome(model: Model, name: str, says: str, sets: FaultSets, chance: FloatArray) -> Outcome:
    weight = sets.weight * chance
    total = float(weight.sum())
    causes = list(model.causes.values())
    if total <= 0:
        return Outcome(name, says, 0.0, "", "", 0.0)
    then = (weight @ sets.present) / total
    lead = int(np.argmax(then))
    return Outcome(name, says, total, causes[lead].name, causes[lead].says, float(then[lead]))


def _apart(model: Model, outcomes: list[Outcome]) -> tuple[str, ...]:
    """The causes that lead after different outcomes are what the test tells apart."""
    return tuple(dict.fromkeys(o.then_says for o in outcomes if o.then))


def _why(model: Model, weighed: Weighed) -> str:
    if weighed.opens_for:
        behind = model.tests[weighed.opens_for]
        return f"must be on record before: {behind.do[0].lower()}{behind.do[1:]}"
    return f"tells most for its minutes: {weighed.bits:.2f} bits in {weighed.test.minutes:g} min"


#: Strengths from which a link is worth a word: absent evidence against, missing evidence.
SPEAKS_AGAINST_FROM, WORTH_LOOKING_FROM = 0.25, 0.6
MOST_MISSING = 5


@dataclass(frozen=True, slots=True)
class CauseBelief:
    """One cause with its probability and its reasons in words."""

    cause: Cause
    probability: float
    supports: tuple[str, ...]
    against: tuple[str, ...]
    missing: tuple[str, ...]


def reasons_for(model: Model, cause: Cause, probability: float, settled: Mapping[str, Answer]) -> CauseBelief:
    """Sort the evidence about one cause, most telling first."""
    there = [(s, a) for f, s in cause.shows.items() if (a := settled.get(f)) and a.if_present > a.if_absent]
    gone = [(s, a) for f, s in cause.shows.items() if (a := settled.get(f)) and a.if_present < a.if_absent]
    open_links = [(s, f) for f, s in cause.shows.items() if f not in settled or settled[f].state == "not examined"]
    there.sort(key=lambda each: -each[0] / model.findings[each[1].finding].leak)
    gone.sort(key=lambda each: -each[0])
    open_links.sort(key=lambda each: -each[0])
    return CauseBelief(
        cause,
        probability,
        tuple(_says(model, a) for _, a in there),
        tuple(f"not found: {_says(model, a)}" for s, a in gone if s >= SPEAKS_AGAINST_FROM),
        tuple(model.findings[f].says for s, f in open_links if s >= WORTH_LOOKING_FROM)[:MOST_MISSING],
    )


def _says(model: Model, answer: Answer) -> str:
    doubt = "" if answer.state in ("present", "absent") else f" ({answer.state})"
    place = f", {answer.at}" if answer.at else ""
    return f"{model.findings[answer.finding].says}{place}{doubt}"
