"""Why a cause is believed: what speaks for it, what against, what has not been looked at."""

from collections.abc import Mapping
from dataclasses import dataclass

from tapewright.core.diagnosis.evidence import Answer
from tapewright.core.diagnosis.machine_model import Cause, Model

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
