"""From all the evidence to the part at fault, and always one thing to do next.

Picture:

    answers --settle--> likelihoods --infer--> beliefs --+--> stations, causes with reasons, unexplained
                              |                          +--> stop: do this
                              +--fault sets--> weighed tests --> next tests with outcomes
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from tapewright.advisor.belief import Belief, infer
from tapewright.advisor.danger import dangers_in, forbidden, still_on_record
from tapewright.advisor.document import Diagnosis, Kind, Known, Unexplained
from tapewright.advisor.evidence import STILL_THERE_AFTER_REMEDY, Answer, Evidence, likelihoods, settle
from tapewright.advisor.explain import describe, judge_stations, reasons_for
from tapewright.advisor.fault_sets import representative
from tapewright.advisor.machine_model import Model
from tapewright.advisor.network import BoolArray, FloatArray, Likelihoods, Network
from tapewright.advisor.next_test import Bounds, chance_absent, weigh_tests
from tapewright.advisor.one_observation import as_one_observation
from tapewright.advisor.places import at_their_places, name_of
from tapewright.advisor.search import UNCLEAR
from tapewright.advisor.stop import enough_known
from tapewright.advisor.workplan import TooEntangledError

#: A finding is reported unexplained when it is more likely to have no listed cause than to have one.
UNEXPLAINED_FROM = 0.5
MOST_TESTS = 5
#: A next test serves the complaint: it is weighed by what it tells about causes believed so much, else the first few.
IN_QUESTION_FROM, FEWEST_IN_QUESTION = 0.1, 3


def diagnose(model: Model, evidence: Evidence, bounds: Bounds | None = None) -> Diagnosis:
    """Reason from the evidence.

    Args:
        model: the machine.
        evidence: what is known so far.
        bounds: risk, depth and minutes the user allows for the next test.

    Raises:
        ValueError: when the evidence cannot have happened in this model.
    """
    bounds = bounds or Bounds()
    settled = settle(evidence.answers)
    dangers = dangers_in(model, settled.values(), evidence.said)
    notes_of_all = (*_contradictions(model, settled), *_unclear(model, settled), *_several_places(settled))
    model, settled, evidence = at_their_places(model, settled, evidence)
    on_record = still_on_record(evidence.on_record, dangers)
    network = as_one_observation(model, _after_remedies(model, evidence), settled)
    learnt, belief, notes = _believe(model, network, settled)
    by_cause = dict(zip(model.causes, belief.cause.tolist(), strict=True))
    by_station = dict(zip(model.stations, _all_stations(belief, model), strict=True))
    place = {name: number for number, name in enumerate(model.findings)}
    counts = {
        cause.name: {finding: float(row[place[finding]]) for finding in cause.shows}
        for cause, row in zip(model.causes.values(), network.strength, strict=True)
    }
    order = sorted(model.causes.values(), key=lambda cause: -by_cause[cause.name])
    sets = representative(network, learnt)
    examined = np.array([name in settled for name in model.findings])
    stay_away = chance_absent(sets, network.strength)
    found = any(answer.if_present > answer.if_absent for answer in settled.values())
    in_question = _in_question(belief.cause) if found else None
    weighed = weigh_tests(model, sets, network.strength, examined, on_record, bounds, in_question)
    tests = [each for each in weighed if not forbidden(each.test, dangers)][:MOST_TESTS]
    left = zip(model.findings.values(), belief.unexplained.tolist(), strict=True)
    return Diagnosis(
        danger=dangers,
        machine=Kind(name=model.name, title=model.title),
        stations=judge_stations(model, by_station, by_cause, settled),
        causes=tuple(reasons_for(model, cause, by_cause[cause.name], settled, counts[cause.name]) for cause in order),
        next_tests=tuple(describe(model, each, sets, stay_away) for each in tests),
        stop=enough_known(model, by_cause, sets, stay_away, tests, bounds, evidence.tried) if found else None,
        unexplained=tuple(
            Unexplained(finding=name_of(f.name), says=f.says, probability=p) for f, p in left if p > UNEXPLAINED_FROM
        ),
        evidence=tuple(_known(model, answer) for answer in settled.values()),
        on_record=tuple(sorted(evidence.on_record)),
        tried=tuple(sorted({name_of(name) for name in evidence.tried})),
        notes=(
            *evidence.notes,
            *notes,
            *notes_of_all,
        ),
    )


def _in_question(belief: FloatArray) -> BoolArray:
    """Return the causes that a next test should tell apart: those that something speaks for, else the first few."""
    out: BoolArray = belief >= IN_QUESTION_FROM
    if not out.any():
        out[np.argsort(-belief)[:FEWEST_IN_QUESTION]] = True
    return out


def _known(model: Model, answer: Answer) -> Known:
    return Known(
        finding=name_of(answer.finding),
        says=model.findings[answer.finding].says,
        state=answer.state,
        at=answer.at or None,
        if_present=answer.if_present,
        if_absent=answer.if_absent,
        how=answer.how,
    )


def _after_remedies(model: Model, evidence: Evidence) -> Network:
    """A cause whose remedy was done in vain is probably not there."""
    network = model.network()
    tried = np.array([name in evidence.tried for name in model.causes])
    p = network.prior
    odds_kept = p * STILL_THERE_AFTER_REMEDY / (1.0 - p + p * STILL_THERE_AFTER_REMEDY)
    return replace(network, prior=np.where(tried, odds_kept, p))


def _believe(model: Model, network: Network, settled: dict[str, Answer]) -> tuple[Likelihoods, Belief, list[str]]:
    """Infer; when too much hangs together to be summed, set aside the least telling findings and say so."""
    used, notes = dict(settled), list[str]()
    while True:
        learnt = likelihoods(model, used)
        try:
            return learnt, infer(network, learnt), notes
        except TooEntangledError:
            weakest = _least_telling(model, used)
            del used[weakest]
            notes.append(f"set aside, because too much hangs together to be summed exactly: {weakest}")


def _least_telling(model: Model, used: Mapping[str, Answer]) -> str:
    def told_by(name: str) -> int:
        return sum(name in cause.shows for cause in model.causes.values())

    return max((name for name, answer in used.items() if answer.if_present > 0), key=told_by)


def _all_stations(belief: Belief, model: Model) -> list[float]:
    """Stations behind the last one with a cause have none."""
    known = belief.station.tolist()
    return [*known, *[0.0] * (len(model.stations) - len(known))]


def _contradictions(model: Model, settled: Mapping[str, Answer]) -> list[str]:
    contradictory = [a for a in settled.values() if a.how.startswith("contradictory")]
    return [f"{model.findings[a.finding].says}: {a.how}; not counted" for a in contradictory]


def _unclear(model: Model, settled: Mapping[str, Answer]) -> list[str]:
    """Words that fitted several findings, and which was taken."""
    return [f"{a.how}; taken as: {model.findings[a.finding].says}" for a in settled.values() if UNCLEAR in a.how]


def _several_places(settled: Mapping[str, Answer]) -> list[str]:
    """Different elements in different findings may be different faults."""
    places = sorted({a.at for a in settled.values() if a.at and a.state == "present" and "," not in a.at})
    elements = [place for place in places if place.startswith(("element", "track", "contact"))]
    numbers = sorted({place.split()[-1] for place in elements})
    if len(numbers) < 2:
        return []
    return [f"the evidence names several elements ({', '.join(numbers)}): there may be more than one fault"]
