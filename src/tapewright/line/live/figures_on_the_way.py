"""Running figures on their way: asked for now, made beside the line, taken in when they are there.

Who makes the figures that take long: whoever follows the line itself, or somebody beside it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol, TypeVar

from tapewright.line.document import LineResult
from tapewright.line.live.edge_ring import EdgeRing
from tapewright.line.live.events import Figures
from tapewright.line.live.running import Running

T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)


class Answer(Protocol[T_co]):
    """What comes of a piece of work, now or later."""

    def done(self) -> bool:
        """Return whether it is there."""

    def result(self) -> T_co:
        """Return it; wait for it where it is not there yet."""


class Helper(Protocol):
    """Takes work and does it, one piece after the other."""

    def submit(self, work: Callable[[], T], /) -> Answer[T]:
        """Take work that needs nothing but what it carries."""


@dataclass(frozen=True, slots=True)
class Ready(Answer[T_co]):
    """An answer that is there."""

    value: T_co

    def done(self) -> bool:
        """Say yes."""
        return True

    def result(self) -> T_co:
        """Return it."""
        return self.value


class AtOnce:
    """Do the work when it is handed over, so that how a signal is cut into pieces changes nothing."""

    def submit(self, work: Callable[[], T], /) -> Answer[T]:
        """Do it."""
        return Ready(work())


@dataclass(frozen=True, slots=True)
class _Asked:
    """When they were asked for, and after how many characters."""

    at_s: float
    characters: int
    answer: Answer[LineResult]


class FiguresOnTheWay:
    """At most one set of figures is being made at a time."""

    def __init__(self) -> None:
        self._asked: _Asked | None = None

    @property
    def asked(self) -> bool:
        """Whether some are on their way."""
        return self._asked is not None

    def ask(self, helper: Helper, running: Running, ring: EdgeRing, at_s: float, characters: int) -> None:
        """Have them made anew from what is kept of the line."""
        self._asked = _Asked(at_s, characters, helper.submit(running.measuring_window(ring)))

    def forget(self) -> None:
        """Let those on their way go: they are of what is over."""
        self._asked = None

    def take(self, running: Running | None, *, wait: bool) -> Figures | None:
        """Take them in when they are there, or wait for them; the running unit and offsets learn from them."""
        asked = self._asked
        if asked is None or running is None or not (wait or asked.answer.done()):
            return None
        self._asked = None
        running.learn_from(asked.answer.result())
        return Figures(asked.at_s, asked.characters, asked.answer.result())
