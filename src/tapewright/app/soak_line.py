"""Soak a line: what is watched goes to the count, and the count to its keeper."""

from typing import Protocol

from tapewright.app.watch_line import Until, Watch
from tapewright.core.line.live.events import Figures, Learned, Lost, Struck, Typed
from tapewright.core.line.live.running import WINDOW
from tapewright.core.line.live.soak import Soak, SoakState


class SoakKeeper(Protocol):
    """Keeps the state of a soak."""

    def goes_on(self, state: SoakState, *, end: bool = False) -> None:
        """Write what is due; all of it at the end."""


def run_soak(watch: Watch, soak: Soak, until: Until, keeper: SoakKeeper) -> None:
    """Count until the watch ends or is interrupted by the keyboard; the state is then whole and kept."""
    state = soak.state
    before_s = state.seconds
    try:
        for moment in watch.moments(until):
            event = moment.event
            if isinstance(event, Struck):
                state.broken += not event.stopped
                soak.character(event.code, event.unit_ms.value, before_s + event.start_s)
            elif isinstance(event, Typed) and event.code:
                soak.character(event.code, None, before_s)
            elif isinstance(event, Learned) and event.again:
                # the same characters come again: what waits of them must not count twice
                state.waiting.clear()
            elif isinstance(event, Lost):
                state.gaps += 1
                soak.seen_again()
            elif isinstance(event, Figures) and event.characters >= WINDOW:
                # a ripple seen in a few characters is hardly one
                ripple = event.result.speed.ripple_percent.value
                state.ripple_percent = max(state.ripple_percent, ripple or 0.0)
            elif event is None:
                state.seconds = before_s + watch.seconds
                keeper.goes_on(state)
    except KeyboardInterrupt:
        pass
    soak.settle_all()
    keeper.goes_on(state, end=True)
