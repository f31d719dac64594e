"""Soak a line: what is watched goes to the count, and the count to its keeper.

A file that is read again after a restart comes from its beginning; what was counted of it is passed over:

    first run    |=====counted=====|...waiting.|  killed
    second run   |-----passed over-------------|=====goes on
"""

from collections.abc import Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import Literal, Protocol

from tapewright.line.live.events import Event, Figures, Learned, Lost, Struck, Typed
from tapewright.line.live.running import WINDOW
from tapewright.line.live.soak import Soak, SoakState
from tapewright.line.live.watch import Until, Watch

#: characters begin further apart than this, s: the fastest machine takes 20 ms for one
APART_S = 0.005


@dataclass(frozen=True, slots=True)
class Said:
    """What the hands do to the machine while it runs.

    Attributes:
        what: "turning" when a hand goes to a screw, "nothing" when it turned nothing, "marked" when it is done.
        label: what was done, with "marked".
    """

    what: Literal["turning", "nothing", "marked"]
    label: str = ""


class Hands(Protocol):
    """Tells what was adjusted: keys, a file of marks, the book."""

    def since(self, state: SoakState) -> Sequence[Said]:
        """Return what was said since the last time; note in the state what need not be told again."""


class NoHands:
    """Nobody adjusts anything."""

    def since(self, state: SoakState) -> Sequence[Said]:
        """Return nothing."""
        return ()


class SoakKeeper(Protocol):
    """Keeps the state of a soak."""

    def goes_on(self, state: SoakState, *, end: bool = False) -> None:
        """Write what is due; all of it at the end."""


def run_soak(watch: Watch, soak: Soak, until: Until, keeper: SoakKeeper, hands: Hands | None = None) -> None:
    """Count until the watch ends or is interrupted by the keyboard; the state is then whole and kept.

    Each adjustment that the hands tell of parts the count.

    Raises:
        TapewrightError: when the source fails in the middle; the state is whole and kept then too.
    """
    hands = hands or NoHands()
    count = _Count(watch, soak)
    try:
        for moment in watch.moments(until):
            if moment.event is None:
                count.passed()
                parted = [count.adjusted(said) for said in hands.since(soak.state)]
                keeper.goes_on(soak.state, end=any(parted))
            else:
                count.take(moment.event)
    except KeyboardInterrupt:
        pass
    count.passed()
    soak.settle_all()
    keeper.goes_on(soak.state, end=True)
    if watch.failed is not None:
        raise watch.failed


#: what is taken back when the unit turns out to be another, and the characters come again
TAKEN_BACK = ("waiting", "broken", "bins", "bin_s", "ripple_percent", "source_last_s")


class _Count:
    """One run of a soak."""

    def __init__(self, watch: Watch, soak: Soak) -> None:
        self._watch, self._soak, self._state = watch, soak, soak.state
        self._before_s = self._state.seconds - self._state.source_seconds
        self._known = deepcopy(self._state)

    def passed(self) -> None:
        """Take the time; none is added while what was counted is passed over."""
        state, seconds = self._state, self._watch.seconds
        state.seconds = max(state.seconds, self._before_s + seconds)
        if state.source:
            state.source_seconds = max(state.source_seconds, seconds)

    def adjusted(self, said: Said) -> bool:
        """Take what the hands said; give whether a new side begins."""
        if said.what == "marked":
            self._soak.mark(said.label)
            self._known = deepcopy(self._state)
        else:
            {"turning": self._soak.turning, "nothing": self._soak.turned_nothing}[said.what]()
        return said.what == "marked"

    def take(self, event: Event) -> None:
        """Take one event."""
        state, soak = self._state, self._soak
        if isinstance(event, Struck):
            self._struck(event)
        elif isinstance(event, Typed) and event.code:
            soak.character(event.code, None, self._before_s)
        elif isinstance(event, Learned) and event.again:
            # within the first characters, before any of them was settled
            for name in TAKEN_BACK:
                setattr(state, name, deepcopy(getattr(self._known, name)))
        elif isinstance(event, Lost):
            state.gaps += 1
            soak.seen_again()
            self._known = deepcopy(state)
        elif isinstance(event, Figures) and event.characters >= WINDOW:
            # a ripple seen in a few characters is hardly one
            ripple = event.result.speed.ripple_percent.value
            state.ripple_percent = max(state.ripple_percent, ripple or 0.0)

    def _struck(self, event: Struck) -> None:
        state = self._state
        if event.start_s <= state.source_last_s + APART_S:
            return
        state.source_last_s = event.start_s
        if self._soak.hands_on:
            return
        state.broken += not event.stopped
        self._soak.character(event.code, event.unit_ms.value, self._before_s + event.start_s)
