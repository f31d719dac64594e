"""How a watch is shown: JSON lines, plain lines, or a drawn screen; and what its keys do."""

import json
import sys
import time
from types import TracebackType
from typing import Any

import click

from tapewright.line.live.events import Event, Figures, Marked
from tapewright.line.live.watch import Moment, Watch
from tapewright.line.live.watch_json import event_line, source_line
from tapewright.line.live.watch_text import event_text
from tapewright.line.live.watch_tone import Tone
from tapewright.line.live.watch_trial import MarkedTrials
from tapewright.line.live.watch_voice import Voice

UNNAMED = "something was turned"
#: characters from one line of running figures to the next, where lines are printed
FIGURES_EVERY = 16


def json_text(document: dict[str, Any]) -> str:
    """Return one JSON object on one line; NaN is refused because JSON has none."""
    return json.dumps(document, allow_nan=False, ensure_ascii=False)


class Display:
    """Keys and tone, the same for every way of showing.

    Args:
        one: the watch.
        tone: sounds; None for silence.
        voice: speaks; None for silence.
    """

    def __init__(self, one: Watch, tone: Tone | None, voice: Voice | None = None) -> None:
        self._watch, self._tone, self._voice = one, tone, voice
        self._typing: str | None = None
        self._held = False
        self.trials = MarkedTrials()

    def __enter__(self) -> "Display":
        """Begin."""
        self.begin()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """End."""
        self.end()
        if self._voice is not None:
            self._voice.close()
            if self._voice.silent:
                click.echo(f"Nothing more was spoken: {self._voice.silent}.", err=True)

    def take(self, moment: Moment) -> None:
        """Show what happened."""
        if moment.event is None:
            self.tick()
            if self._voice is not None:
                self._voice.tick()
            return
        self.trials.take(moment.event)
        if self._tone is not None:
            self._tone.take(moment.event)
        if self._voice is not None:
            self._voice.take(moment.event)
        self.show(moment.event, moment.screen_ms)

    def press(self, struck: str) -> None:
        """Do what the keys say."""
        for key in struck:
            if self._typing is None:
                self._command(key)
            else:
                self._spell(key)

    def end_by_hand(self) -> None:
        """Bring the watch to its end after Ctrl-C."""
        for event in self._watch.line.finish():
            self.trials.take(event)
            self.show(event, None)

    def begin(self) -> None:
        """Show what is being watched."""

    def end(self) -> None:
        """Return back what was taken."""

    def tick(self) -> None:
        """Draw, when drawing is due."""

    def show(self, event: Event, screen_ms: float | None) -> None:
        """Show one event."""

    def asks(self, typing: str | None) -> None:
        """Show what has been typed so far; None when nothing is asked."""

    def hold(self, held: bool) -> None:
        """Hold the screen still, or go on."""

    def _command(self, key: str) -> None:
        if key in "qQ":
            self._watch.stop()
        elif key in "hH":
            self._held = not self._held
            self.hold(self._held)
        elif key in "tT":
            self._watch.line.hands_on()
            self._typing = ""
            self.asks("")

    def _spell(self, key: str) -> None:
        assert self._typing is not None
        if key in "\r\n":
            label, self._typing = self._typing.strip() or UNNAMED, None
            self.asks(None)
            for event in self._watch.line.mark(label):
                self.trials.take(event)
                self.show(event, None)
        elif key in "\x7f\b":
            self._typing = self._typing[:-1]
            self.asks(self._typing)
        elif key == "\x1b":
            # let go: the stretch goes on as if nothing had been turned
            self._typing = None
            self._watch.line.hands_off()
            self.asks(None)
        elif key.isprintable():
            self._typing += key
            self.asks(self._typing)


class JsonDisplay(Display):
    """One JSON object a line."""

    def begin(self) -> None:
        """Say what is being watched."""
        click.echo(json_text(source_line(self._watch.source)))
        sys.stdout.flush()

    def show(self, event: Event, screen_ms: float | None) -> None:
        """Write one object."""
        click.echo(json_text(event_line(event, screen_ms)))
        sys.stdout.flush()


class PlainDisplay(Display):
    """One line an event."""

    _figures_after = 0

    def begin(self) -> None:
        """Say what is being watched."""
        click.echo(f"Watching {self._watch.source.what}.")
        for s in self._watch.source.suspicions:
            click.echo(f"  mind: {s.suspicion}: {s.evidence}. {s.do}")
        sys.stdout.flush()

    def show(self, event: Event, screen_ms: float | None) -> None:
        """Write it; of the running figures only every few."""
        if isinstance(event, Figures):
            if event.characters < self._figures_after:
                return
            self._figures_after = event.characters + FIGURES_EVERY
        said = event_text(event)
        if said and not self._held:
            click.echo(said)
            sys.stdout.flush()

    def asks(self, typing: str | None) -> None:
        """Ask what was turned."""
        if typing == "":
            click.echo("what did you turn? (Enter marks it)", err=True)


class DrawnDisplay(Display):
    """A screen with needles."""

    def begin(self) -> None:
        """Take the screen."""
        from tapewright.line.live.watch_screen import Screen, Shown

        said = [f"mind: {s.suspicion}: {s.evidence}. {s.do}" for s in self._watch.source.suspicions]
        self._shown = Shown(self._watch.source.what, self._watch.line.settings.elements, said=said)
        self._screen = Screen(self._shown, time.monotonic)

    def end(self) -> None:
        """Return the screen back."""
        self._screen.close()

    def tick(self) -> None:
        """Draw when due."""
        if not self._held:
            self._screen.draw()

    def show(self, event: Event, screen_ms: float | None) -> None:
        """Take it to the screen."""
        self._shown.take(event)
        if isinstance(event, Marked):
            self._shown.forget_needles()
        if not self._held:
            self._screen.draw(now=True)

    def asks(self, typing: str | None) -> None:
        """Show the question."""
        self._shown.typing = typing
        self._screen.draw(now=True)

    def hold(self, held: bool) -> None:
        """Hold."""
        self._shown.held = held
        self._screen.draw(now=True)


def display_for(
    one: Watch, *, as_json: bool, plain: bool, tone: Tone | None, voice: Voice | None = None
) -> Display:
    """Choose how to show: JSON when asked, a drawn screen on a terminal, plain lines elsewhere."""
    if as_json:
        return JsonDisplay(one, tone, voice)
    drawn = sys.stdout.isatty() and not plain
    return DrawnDisplay(one, tone, voice) if drawn else PlainDisplay(one, tone, voice)
