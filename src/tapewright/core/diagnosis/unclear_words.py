"""Words that may mean a few findings are taken as the one that makes all evidence together most likely; it is said."""

from collections.abc import Sequence
from dataclasses import replace

from tapewright.core.diagnosis.belief import infer
from tapewright.core.diagnosis.evidence import Answer, likelihoods, settle
from tapewright.core.diagnosis.machine_model import Model

#: What stands before the other readings in the evidence's own words.
UNCLEAR = "could also mean"


def settle_unclear(
    model: Model, answers: Sequence[Answer], unclear: Sequence[Sequence[Answer]]
) -> tuple[Answer, ...]:
    """Give the answers with each unclear one settled, in the order they were said.

    Raises:
        ValueError: when the evidence cannot have happened.
    """
    known, network = list(answers), model.network()

    def likely(reading: Answer) -> float:
        return infer(network, likelihoods(model, settle([*known, reading]))).log_evidence

    for readings in unclear:
        best = max(readings, key=likely)
        others = ", ".join(each.finding for each in readings if each.finding != best.finding)
        known.append(replace(best, how=f"{best.how}; {UNCLEAR} {others}"))
    return tuple(known)
