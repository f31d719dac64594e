"""Running figures on their way: asked for now, made beside the line, taken in when they are there."""

from dataclasses import dataclass

from tapewright.core.line.line_result import LineResult
from tapewright.core.line.live.edge_ring import EdgeRing
from tapewright.core.line.live.events import Figures
from tapewright.core.line.live.helper import Answer, Helper
from tapewright.core.line.live.running import Running


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
