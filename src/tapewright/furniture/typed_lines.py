"""Lines typed while something runs: Enter at any time stops it; while nobody types, the supply is looked after."""

import queue
import sys
import threading
import time
from collections.abc import Callable

import click

POLL_S = 0.5


class StoppedByKeyError(KeyboardInterrupt):
    """Somebody pressed Enter while the motor ran."""


class TypedLines:
    """Reads standard input beside the work.

    `tend` is called every half second: to look at the supply, so that a lost connection shows and a watchdog hears us.
    """

    def __init__(self, *, listen: bool) -> None:
        """Listen from the first question or wait on; without, every question is answered by the end of the input."""
        self.tend: Callable[[], object] = lambda: None
        self._lines: queue.Queue[str | None] = queue.Queue()
        self._ended, self._reader = not listen, threading.Thread(target=self._read, daemon=True)

    def ask(self, question: str) -> str | None:
        """Ask, and give the line typed; None at the end of the input."""
        self._begin()
        click.echo(f"{question}: ", nl=False, err=True)
        while not self._ended:
            try:
                line = self._lines.get(timeout=POLL_S)
            except queue.Empty:
                self.tend()
                continue
            self._ended = line is None
            return line
        click.echo(err=True)
        return None

    def wait(self, seconds: float) -> None:
        """Wait; a line typed meanwhile stops everything.

        Raises:
            StoppedByKeyError: when one was.
        """
        self._begin()
        until = time.monotonic() + seconds
        while (left := until - time.monotonic()) > 0:
            try:
                line = self._lines.get(timeout=min(POLL_S, left))
            except queue.Empty:
                self.tend()
                continue
            if line is not None:
                raise StoppedByKeyError
            self._ended = True

    def _begin(self) -> None:
        if not self._ended and self._reader.ident is None:
            self._reader.start()

    def _read(self) -> None:
        try:
            for line in sys.stdin:
                self._lines.put(line.rstrip("\n"))
        except (OSError, ValueError):  # a closed terminal is the end of the input
            pass
        finally:
            self._lines.put(None)
