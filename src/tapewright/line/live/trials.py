"""Trials: the stretch before a turn of a screw, the stretch after it, and what comes of laying them side by side."""

from collections.abc import Callable
from dataclasses import dataclass

from tapewright.line.document import LineResult
from tapewright.line.live.edge_ring import EdgeRing
from tapewright.line.live.events import Compared, Marked
from tapewright.line.live.figures_on_the_way import Answer, Helper
from tapewright.line.live.running import Running
from tapewright.line.live.stretches import Change, compare_stretches

#: a stretch of fewer characters is not compared
FEWEST_TO_COMPARE = 8
#: it is compared again when there are so many times as many characters after it (the doubt is half of what it was),
#: and at the end
AGAIN_AT = 4


@dataclass(frozen=True, slots=True)
class Comparing:
    """A comparison on its way.

    Attributes:
        at_s: signal time when it was asked for.
        trial: of which.
        after: characters of the stretch after it.
        changes: what comes of it.
    """

    at_s: float
    trial: Marked
    after: int
    changes: Answer[tuple[Change, ...]]

    def event(self) -> Compared:
        """Return what came of it; wait for it where it is not there yet."""
        trial = self.trial
        return Compared(
            self.at_s, trial.number, trial.label, trial.characters, self.after, self.changes.result()
        )


class Trials:
    """Keep the stretch since the last trial, and the figures of the one before it."""

    def __init__(self) -> None:
        self.hands_on = False
        self._from_s, self._characters, self._number = 0.0, 0, 0
        self._before: Answer[LineResult] | None = None
        self._marked: Marked | None = None
        self._compare_at = FEWEST_TO_COMPARE
        self._comparing: Comparing | None = None

    def character(self) -> None:
        """Count a character; those keyed while a screw is being turned belong to no stretch."""
        self._characters += 0 if self.hands_on else 1

    def from_the_first(self) -> None:
        """Count anew: all characters come again."""
        self._characters = 0

    def put_hands_on(self, running: Running | None, ring: EdgeRing, helper: Helper) -> None:
        """Close the stretch: a screw is being turned."""
        if running is not None and not self.hands_on:
            work = self._stretch(running, ring)
            self._before = None if work is None else helper.submit(work)
        self.hands_on = True

    def mark(self, label: str, now_s: float) -> Marked:
        """Begin the stretch after a trial."""
        self._number += 1
        self._marked = Marked(now_s, self._number, label, self._characters)
        self._compare_at = FEWEST_TO_COMPARE
        self.hands_on = False
        self._from_s, self._characters = now_s, 0
        return self._marked

    def ask(self, running: Running, ring: EdgeRing, helper: Helper) -> None:
        """Have the two stretches compared when enough was keyed since the trial."""
        if self._marked is not None and self._characters >= self._compare_at and self._comparing is None:
            self._compare_at = AGAIN_AT * self._characters
            self._comparing = self._compare(running, ring, helper)

    def answered(self, *, wait: bool = False) -> Compared | None:
        """Return what a comparison brought, once."""
        asked = self._comparing
        if asked is None or not (wait or asked.changes.done()):
            return None
        self._comparing = None
        return asked.event()

    def at_the_end(self, running: Running | None, ring: EdgeRing, helper: Helper) -> Compared | None:
        """Compare all that there is."""
        asked = None if running is None else self._compare(running, ring, helper)
        return None if asked is None else asked.event()

    def _stretch(self, running: Running, ring: EdgeRing) -> Callable[[], LineResult] | None:
        """Return the measuring of what was keyed since the last trial; None when that is too little."""
        if self._characters < FEWEST_TO_COMPARE:
            return None
        return running.measuring(ring, self._from_s, ring.until_s)

    def _compare(self, running: Running, ring: EdgeRing, helper: Helper) -> Comparing | None:
        before, marked = self._before, self._marked
        after = None if self.hands_on else self._stretch(running, ring)
        if before is None or marked is None or after is None:
            return None
        changes = helper.submit(lambda: compare_stretches(before.result(), after()))
        return Comparing(ring.until_s, marked, self._characters, changes)
