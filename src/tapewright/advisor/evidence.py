"""What is known so far: answers about findings, gates on record, remedies tried in vain."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from tapewright.advisor.document import State
from tapewright.advisor.machine_model import Model
from tapewright.advisor.network import Likelihoods

#: Chance that a cause is still there after its remedy was done and the fault stayed (common practice, no source).
STILL_THERE_AFTER_REMEDY = 0.1


@dataclass(frozen=True, slots=True)
class Answer:
    """One piece of evidence about one finding.

    Attributes:
        finding: its name in the model.
        if_present, if_absent: likelihood of this evidence if the finding is there, and if not; at most 1.
        how: where it comes from, in words.
        at: which element, track, contact, column or key it concerns, in words; "" when none.
        recording: the recording that it was read from, one observation with all else from it; "" when somebody said so.
    """

    finding: str
    if_present: float
    if_absent: float
    how: str
    at: str = ""
    recording: str = ""

    @property
    def state(self) -> State:
        """Return "present", "absent", "rather present", "rather absent" or "not examined"."""
        if self.if_present == self.if_absent:
            return "not examined"
        if self.if_absent == 0:
            return "present"
        if self.if_present == 0:
            return "absent"
        return "rather present" if self.if_present > self.if_absent else "rather absent"


def yes(finding: str, how: str, at: str = "") -> Answer:
    """The finding is there."""
    return Answer(finding, 1.0, 0.0, how, at)


def no(finding: str, how: str, at: str = "") -> Answer:
    """It was looked for and is not there."""
    return Answer(finding, 0.0, 1.0, how, at)


def cannot_say(finding: str, how: str, at: str = "") -> Answer:
    """Somebody looked, and it says nothing."""
    return Answer(finding, 1.0, 1.0, how, at)


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything known so far.

    Attributes:
        answers: in the order they came; several about one finding count together.
        on_record: gates that are passed.
        tried: causes whose remedy was done in vain.
        said: texts that were said to be so, in the person's own words.
        notes: what the reader should know about how the words were taken.
    """

    answers: tuple[Answer, ...] = ()
    on_record: frozenset[str] = frozenset()
    tried: frozenset[str] = frozenset()
    said: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def with_answers(self, more: Iterable[Answer]) -> "Evidence":
        """Return the evidence with more answers."""
        return replace(self, answers=(*self.answers, *more))


def settle(answers: Iterable[Answer]) -> dict[str, Answer]:
    """Return one answer a finding: likelihoods multiply; a flat contradiction says nothing, and says so."""
    settled: dict[str, Answer] = {}
    for answer in answers:
        before = settled.get(answer.finding)
        settled[answer.finding] = answer if before is None else _both(before, answer)
    return settled


def _both(one: Answer, other: Answer) -> Answer:
    present, absent = one.if_present * other.if_present, one.if_absent * other.if_absent
    how = " and ".join(dict.fromkeys((one.how, other.how)))
    at = ", ".join(dict.fromkeys(text for text in (one.at, other.at) if text))
    recording = one.recording if one.recording and other.recording else ""
    largest = max(present, absent)
    if largest == 0:
        return Answer(one.finding, 1.0, 1.0, f"contradictory: {how}", at)
    return Answer(one.finding, present / largest, absent / largest, how, at, recording)


def likelihoods(model: Model, settled: dict[str, Answer]) -> Likelihoods:
    """Return the evidence as arrays, in the order of the model's findings."""
    present, absent = np.ones(len(model.findings)), np.ones(len(model.findings))
    for place, name in enumerate(model.findings):
        if name in settled:
            present[place], absent[place] = settled[name].if_present, settled[name].if_absent
    return Likelihoods(present, absent)
