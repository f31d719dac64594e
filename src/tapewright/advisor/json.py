"""A diagnosis as the JSON document tapewright/diagnosis/1."""

from typing import Any

from tapewright.advisor.code_pairs import PairReading
from tapewright.advisor.find_the_fault import FaultReport
from tapewright.advisor.outcomes import AdvisedTest, CauseBelief, Outcome
from tapewright.advisor.stop import Stop

FORMAT = "tapewright/diagnosis/1"


def diagnosis_document(report: FaultReport) -> dict[str, Any]:
    """Return the whole document."""
    found, model = report.diagnosis, report.diagnosis.model
    return {
        "format": FORMAT,
        "machine": {"name": model.name, "title": model.title},
        "files": list(report.files),
        "stations": [
            {"station": s.station, "title": s.title, "state": s.state, "probability": s.probability,
             "because": list(s.because)}
            for s in found.stations
        ],
        "causes": [_cause(belief) for belief in found.causes],
        "next_tests": [_test(test) for test in found.next_tests],
        "stop": _stop(found.stop),
        "unexplained": [
            {"finding": name, "says": model.findings[name].says, "probability": p} for name, p in found.unexplained
        ],
        "evidence": [
            {"finding": a.finding, "says": model.findings[a.finding].says, "state": a.state, "at": a.at or None,
             "if_present": a.if_present, "if_absent": a.if_absent, "how": a.how}
            for a in found.settled.values()
        ],
        "not_counted": [
            {"finding": n.answer.finding, "says": model.findings[n.answer.finding].says, "state": n.answer.state,
             "how": n.answer.how, "evidence": n.evidence, "overtaken_by": list(n.changes)}
            for n in report.not_counted
        ],
        "on_record": sorted(report.evidence.on_record),
        "tried": sorted(report.evidence.tried),
        "pairs": _pairs(report.pairs),
        "notes": list(found.notes),
    }  # fmt: skip


def _cause(belief: CauseBelief) -> dict[str, Any]:
    cause = belief.cause
    return {
        "cause": cause.name, "station": cause.station, "says": cause.says, "probability": belief.probability,
        "for": list(belief.supports), "against": list(belief.against), "missing": list(belief.missing),
        "remedy": {"do": cause.do, "minutes": cause.minutes, "depth": cause.depth, "cautions": list(cause.cautions),
                   "source": cause.source},
    }  # fmt: skip


def _test(test: AdvisedTest) -> dict[str, Any]:
    return {
        "test": test.name, "do": test.do, "minutes": test.minutes, "risk": test.risk, "depth": test.depth,
        "information_bits": test.bits, "why": test.why, "opens": test.opens or None, "question": test.question,
        "tells_apart": list(test.tells_apart), "cautions": list(test.cautions),
        "outcomes": [_outcome(outcome) for outcome in test.outcomes],
    }  # fmt: skip


def _outcome(outcome: Outcome) -> dict[str, Any]:
    return {
        "finding": outcome.finding or None, "says": outcome.says, "chance": outcome.chance,
        "then": {"cause": outcome.then, "says": outcome.then_says, "probability": outcome.then_probability}
        if outcome.then else None,
    }  # fmt: skip


def _stop(stop: Stop | None) -> dict[str, Any] | None:
    if stop is None:
        return None
    return {
        "cause": stop.cause.name, "says": stop.cause.says, "probability": stop.probability, "why": stop.why,
        "do": stop.cause.do, "minutes": stop.cause.minutes, "cautions": list(stop.cause.cautions),
    }  # fmt: skip


def _pairs(reading: PairReading | None) -> dict[str, Any] | None:
    if reading is None:
        return None
    return {
        "ranked": [
            {"transformation": each.suspect.name, "element": each.suspect.element or None,
             "probability": each.probability, "explains": each.explains, "wrong": each.wrong}
            for each in reading.ranked
        ],
        "send_next": reading.decide or None,
        "then": [{"transformation": name, "would_come_as": code} for name, code in reading.then],
    }  # fmt: skip
