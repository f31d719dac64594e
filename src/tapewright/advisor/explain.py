"""From beliefs to words: each station's state and why, each cause's reasons, what each outcome of a test would mean."""

from collections.abc import Iterable, Mapping

import numpy as np

from tapewright.advisor.document import NextTest, Outcome, Remedy, Standing, Station, Suspected, Then
from tapewright.advisor.evidence import Answer
from tapewright.advisor.fault_sets import FaultSets
from tapewright.advisor.machine_model import Cause, Model
from tapewright.advisor.network import FloatArray
from tapewright.advisor.next_test import Weighed
from tapewright.advisor.places import SITS_FROM, name_of, places_in

#: A station is suspect from this belief on; it can only be called proved below this one.
SUSPECT_FROM, PROVED_BELOW = 0.2, 0.05
#: Strengths from which a link is worth a word: absent evidence against, missing evidence.
SPEAKS_AGAINST_FROM, WORTH_LOOKING_FROM = 0.25, 0.6
MOST_OUTCOMES, MOST_MISSING = 4, 5


def percent(p: float) -> str:
    """Write a probability so that nothing is rounded to certainty."""
    return "under 1 %" if p < 0.01 else "over 99 %" if p > 0.99 else f"{100 * p:.0f} %"


def judge_stations(
    model: Model, belief: Mapping[str, float], causes: Mapping[str, float], settled: Mapping[str, Answer]
) -> tuple[Station, ...]:
    """Judge every station of the model that can have a fault.

    Args:
        model: the machine.
        belief: probability of a fault at each station.
        causes: probability of each cause.
        settled: one answer a finding.
    """
    used = {cause.station for cause in model.causes.values()}
    return tuple(_judge(model, each, belief[each], causes, settled.values()) for each in model.stations if each in used)


def _judge(model: Model, station: str, p: float, causes: Mapping[str, float], answers: Iterable[Answer]) -> Station:
    own = [(a, model.findings[a.finding]) for a in answers]
    outside = [f"{f.says}{_place(a)}" for a, f in own if a.state == "present" and f.condition_of == station]
    proofs = [
        f"looked for and not found: {f.says[0].lower()}{f.says[1:]}"
        for a, f in own
        if a.state == "absent" and (station in f.clears or f.condition_of == station)
    ]
    leading = sorted((c for c in model.causes.values() if c.station == station), key=lambda c: -causes[c.name])
    suspects = [f"{c.says} ({percent(causes[c.name])})" for c in leading[:3] if causes[c.name] >= 0.05]
    in_doubt = any(a.state.startswith("rather") and f.condition_of == station for a, f in own)
    why = f"{proofs[0]}, but {percent(p)} is left" if proofs else "nothing was examined that would prove it"
    title = model.stations[station]
    if p >= SUSPECT_FROM:
        because = [*outside, *suspects] or [f"belief in a fault here is {percent(p)}"]
        return _station(station, title, "outside" if outside else "suspect", p, because)
    if proofs and p < PROVED_BELOW and not in_doubt:
        return _station(station, title, "proved", p, proofs)
    return _station(station, title, "not yet shown", p, [*outside, why])


def _station(station: str, title: str, state: Standing, p: float, because: Iterable[str]) -> Station:
    return Station(station=station, title=title, state=state, probability=p, because=tuple(because))


def reasons_for(
    model: Model, cause: Cause, probability: float, settled: Mapping[str, Answer], counts: Mapping[str, float]
) -> Suspected:
    """Return one cause with the evidence about it, most telling first.

    Args:
        model: the machine.
        cause: the cause.
        probability: that it is present.
        settled: one answer a finding.
        counts: finding -> strength with which its absence counted against the cause.
    """
    there, gone, not_seen = [], [], []
    places: dict[str, str] = {}
    for finding, strength in cause.shows.items():
        answer = settled.get(finding)
        if answer is None or answer.state == "not examined":
            not_seen.append((strength, model.findings[finding].says))
        elif answer.if_present > answer.if_absent:
            there.append((strength / model.findings[finding].leak, _says(model, answer)))
            places |= places_in(answer.at) if strength >= SITS_FROM else {}
        else:
            gone.append((counts[finding], f"not found: {_says(model, answer)}"))
    for each in (there, gone, not_seen):
        each.sort(key=lambda reason: -reason[0])
    return Suspected(
        cause=name_of(cause.name),
        at=next(iter(places.values())) if len(places) == 1 else None,
        station=cause.station,
        says=cause.says,
        probability=probability,
        supports=tuple(says for _, says in there),
        against=tuple(says for strength, says in gone if strength >= SPEAKS_AGAINST_FROM),
        missing=tuple(says for strength, says in not_seen if strength >= WORTH_LOOKING_FROM)[:MOST_MISSING],
        remedy=Remedy(
            do=cause.do, minutes=cause.minutes, depth=cause.depth, cautions=cause.cautions, source=cause.source
        ),
    )


def _says(model: Model, answer: Answer) -> str:
    doubt = "" if answer.state in ("present", "absent") else f" ({answer.state})"
    return f"{model.findings[answer.finding].says}{f', {answer.at}' if answer.at else ''}{doubt}"


def _place(answer: Answer) -> str:
    return f" ({answer.at})" if answer.at else ""


def describe(model: Model, weighed: Weighed, sets: FaultSets, stay_away: FloatArray) -> NextTest:
    """Return a weighed test with its outcomes, from the fault sets, and the causes it tells apart."""
    test, names = weighed.test, list(model.findings)
    outcomes = [
        _outcome(model, name_of(names[place]), model.findings[names[place]].says, sets, 1.0 - stay_away[:, place])
        for place in weighed.findings[:MOST_OUTCOMES]
    ]
    shown = list(weighed.findings[:1] if test.question else weighed.findings)
    if shown:
        outcomes.append(_outcome(model, None, "none of this", sets, np.prod(stay_away[:, shown], axis=1)))
    return NextTest(
        test=test.name,
        do=test.do,
        minutes=test.minutes,
        risk=test.risk,
        depth=test.depth,
        information_bits=weighed.bits,
        why=_why(model, weighed),
        opens=test.opens or None,
        question=test.question,
        tells_apart=tuple(dict.fromkeys(o.then.says for o in outcomes if o.then)),
        cautions=test.cautions,
        outcomes=tuple(outcomes),
    )


def _outcome(model: Model, name: str | None, says: str, sets: FaultSets, chance: FloatArray) -> Outcome:
    weight = sets.weight * chance
    total = float(weight.sum())
    if total <= 0:
        return Outcome(finding=name, says=says, chance=0.0, then=None)
    after = (weight @ sets.present) / total
    lead = int(np.argmax(after))
    cause = list(model.causes.values())[lead]
    then = Then(cause=name_of(cause.name), says=cause.says, probability=float(after[lead]))
    return Outcome(finding=name, says=says, chance=total, then=then)


def _why(model: Model, weighed: Weighed) -> str:
    if weighed.opens_for:
        behind = model.tests[weighed.opens_for]
        return f"must be on record before: {behind.do[0].lower()}{behind.do[1:]}"
    return f"tells most for its minutes: {weighed.bits:.2f} bits in {weighed.test.minutes:g} min"
