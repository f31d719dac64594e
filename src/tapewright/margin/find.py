"""Find a receiver's orientation range: ask a setting, take an answer, learn, and stop when enough is known.

Picture:

    setting asked --> operator, picture of a tape, echo on the line, or practice machine --> right / wrong / can't say
          ^------------------------------- belief ---------------------------------------'
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Literal

from tapewright.margin.document import Range, judge_margin, range_of
from tapewright.margin.ends import Answer, Belief, Scale, after, at_first, next_setting
from tapewright.number import Limit, State

#: what a judge can say besides an answer
Word = Literal["undo", "stop"]
MOST_QUESTIONS = 14
FEWEST_QUESTIONS = 4


@dataclass(frozen=True, slots=True)
class Asked:
    """A question with its answer."""

    at: float
    answer: Answer


#: takes the number of the question and the setting; gives what came of it
Judge = Callable[[int, float], Answer | Word]


@dataclass(slots=True)
class Search:
    """A search under way; it holds nothing but its answers, so it can be put down and taken up again.

    Attributes:
        scale: the scale of the settings.
        most: most questions.
        asked: questions with their answers so far.
        limit: what the margin is to be held against; while that is not shown, ends that are known well enough are
            asked for more closely.
    """

    scale: Scale
    most: int = MOST_QUESTIONS
    asked: list[Asked] = field(default_factory=list)
    limit: Limit | None = None

    @property
    def belief(self) -> Belief:
        """What the answers so far make believed."""
        return _belief(self.scale, tuple(self.asked))

    def next(self) -> float | None:
        """Return the setting to ask, None when enough is known or all questions are used."""
        if len(self.asked) >= self.most:
            return None
        if len(self.asked) >= FEWEST_QUESTIONS:
            found = self.found()
            decided = self.limit is None or judge_margin(found, self.limit, True).state is not State.NOT_SHOWN
            if found.closely or (found.found and decided):
                return None
        return _next(self.scale, tuple(self.asked))

    def found(self) -> Range:
        """Return what is known now."""
        return range_of(self.belief, len(self.asked))


@lru_cache(maxsize=64)
def _belief(scale: Scale, asked: tuple[Asked, ...]) -> Belief:
    if not asked:
        return at_first(scale)
    return after(_belief(scale, asked[:-1]), asked[-1].at, asked[-1].answer)


@lru_cache(maxsize=4096)
def _next(scale: Scale, asked: tuple[Asked, ...]) -> float:
    return next_setting(_belief(scale, asked))[0]


def find_margin(search: Search, judge: Judge, note: Callable[[Search], None]) -> Range:
    """Ask until enough is known or the judge stops; `note` is called after every answer, to keep it."""
    while (at := search.next()) is not None:
        said = judge(len(search.asked) + 1, at)
        if said == "stop":
            break
        if said == "undo":
            del search.asked[-1:]
        else:
            search.asked.append(Asked(at, said))
        note(search)
    return search.found()


def holds(sent: tuple[str, ...], read: tuple[str, ...]) -> bool:
    """Return whether the codes sent stand in those read, one after the other without a gap."""
    text, whole = " ".join(sent), " ".join(read)
    return f" {text} " in f" {whole} "
