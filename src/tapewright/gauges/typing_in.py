r"""Typing readings in from the form: numbers only, Enter to the next box, u to undo, Enter alone to leave a box empty.

What a line may be (decimal comma or point):

    0.24            a number                     0.20 0.22    last gauge that went, first that did not
    0.24 0.01 u     a number with its doubt      >0.22  <0.18 one gauge only: it went, it did not
    0.10+0.15       a stack of leaves            y  n  1  0   yes or no, where the box asks for it
    10 thou         any of these in mm, thou, in or um, where the box is a length; kept as typed
    (nothing)       leave it empty               u            undo: back to the box before
    q               stop here

No screen, no clock: a line goes in, what happened comes out. The same machine serves terminal, test and page.

Type readings in from the bench form, box by box.
"""

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import Enum

from tapewright.gauges.checking import judge_alone
from tapewright.gauges.journal import Entry, Journal
from tapewright.gauges.requirement import Requirement
from tapewright.number import Verdict

YES, NO = {"y", "yes", "1"}, {"n", "no", "0"}
WITH_UNIT = re.compile(r"(.*[\d.,u])\s*(mm|thou|in|um)")
WRITTEN_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)")


class Said(Enum):
    """What became of a line."""

    TAKEN = "taken"
    LEFT_EMPTY = "left empty"
    UNDONE = "undone"
    NOTHING_TO_UNDO = "nothing to undo"
    NOT_UNDERSTOOD = "not understood"
    STOPPED = "stopped"


@dataclass(frozen=True, slots=True)
class Question:
    """One box: which requirement and position, whether it takes yes or no, a number as well, a stack of leaves."""

    id: str
    position: str
    takes_eye: bool
    takes_number: bool
    takes_leaves: bool = True


@dataclass(slots=True)
class TypingIn:
    """The state of typing in one form.

    Attributes:
        questions: the boxes in order.
        answers: what was typed so far, None for a box left empty; as long as the boxes gone past.
        stopped: the user said stop.
    """

    questions: tuple[Question, ...]
    answers: list[Entry | None] = field(default_factory=list)
    stopped: bool = False

    @property
    def current(self) -> Question | None:
        """The box asked for now; None when all are gone past or the user stopped."""
        return None if self.stopped or len(self.answers) >= len(self.questions) else self.questions[len(self.answers)]

    def type(self, line: str) -> Said:
        """Take one line."""
        word = line.strip().lower()
        if word in ("u", "undo"):
            if not self.answers:
                return Said.NOTHING_TO_UNDO
            self.answers.pop()
            return Said.UNDONE
        if word in ("q", "quit"):
            self.stopped = True
            return Said.STOPPED
        question = self.current
        if question is None:
            return Said.STOPPED
        if not word:
            self.answers.append(None)
            return Said.LEFT_EMPTY
        entry = understood(word, question)
        if entry is None:
            return Said.NOT_UNDERSTOOD
        self.answers.append(entry)
        return Said.TAKEN

    @property
    def entries(self) -> tuple[Entry, ...]:
        """Everything typed, without the boxes left empty."""
        return tuple(entry for entry in self.answers if entry is not None)


def understood(word: str, question: Question) -> Entry | None:
    """Read one line for one box; None when it makes no sense there."""
    with_unit = WITH_UNIT.fullmatch(word) if question.takes_leaves and question.takes_number else None
    if with_unit is None:
        return _understood(word, question)
    entry = _understood(with_unit[1], question)
    return replace(entry, unit=with_unit[2]) if entry is not None and entry.eye is None else None


def _understood(word: str, question: Question) -> Entry | None:
    if question.takes_eye and word in (YES | NO if not question.takes_number else {"y", "yes", "n", "no"}):
        return Entry(question.id, eye=word in YES, position=question.position)
    if not question.takes_number:
        return None
    if "+" in word[1:]:
        if not question.takes_leaves:
            return None
        leaves = [_number(part) for part in word.split("+")]
        if all(leaf is not None and leaf > 0 for leaf in leaves):
            return Entry(question.id, leaves=tuple(leaf for leaf in leaves if leaf), position=question.position)
        return None
    if word[0] in "<>":
        end = _number(word[1:])
        if end is None:
            return None
        low, high = (end, math.inf) if word[0] == ">" else (-math.inf, end)
        return Entry(question.id, low=low, high=high, position=question.position)
    return _numbers(word, question)


def _numbers(word: str, question: Question) -> Entry | None:
    parts = word.split()
    with_doubt = len(parts) == 3 and parts[2] == "u"
    numbers = [_number(part) for part in (parts[:2] if with_doubt else parts)]
    if any(n is None for n in numbers) or len(numbers) > 2:
        return None
    first, second = numbers[0], numbers[1] if len(numbers) > 1 else None
    if second is None:
        return Entry(question.id, value=first, position=question.position)
    assert first is not None
    if with_doubt:
        return Entry(question.id, value=first, u=second, position=question.position) if second >= 0 else None
    return Entry(question.id, low=first, high=second, position=question.position) if first <= second else None


def _number(text: str) -> float | None:
    text = text.strip()
    return float(text.replace(",", ".")) if WRITTEN_NUMBER.fullmatch(text) else None


#: hears, after each line, the state, what became of the line (None at the start) and how the reading stands alone
Tell = Callable[[TypingIn, Said | None, Verdict | None], None]


def type_readings_in(
    requirements: Mapping[str, Requirement], questions: tuple[Question, ...], lines: Iterable[str], tell: Tell
) -> Journal:
    """Ask box after box until all are gone past, the lines end or one says stop; give what was typed."""
    typing = TypingIn(questions)
    tell(typing, None, None)
    for line in lines:
        said = typing.type(line)
        entry = typing.answers[-1] if said is Said.TAKEN else None
        tell(typing, said, None if entry is None else judge_alone(requirements[entry.id], entry))
        if typing.current is None:
            break
    return typing.entries
