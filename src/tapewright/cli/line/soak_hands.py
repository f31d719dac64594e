"""What was adjusted while a soak runs: keys, the file of marks beside its state, adjustments and trials of the book."""

import time
from collections.abc import Callable, Sequence
from pathlib import Path

import click

from tapewright.adapters.keyboard import Keys
from tapewright.adapters.soak_files import marks_of
from tapewright.app.soak_line import Said
from tapewright.core.line.live.soak import SoakState

#: between two looks at the file of marks, and at the book
MARKS_EVERY_S, BOOK_EVERY_S = 0.5, 5.0
UNNAMED = "something was adjusted"
#: number and words of each adjustment and trial after a number; after -1: of the last only
Changes = Callable[[int], Sequence[tuple[int, str]]]


class SoakHands:
    """All three.

    Args:
        path: of the state.
        keyboard: t says that something is being turned; words and Enter, what; Escape, nothing.
        changes: asks the book; None without a machine of the book.
        clock: gives monotonic seconds.
    """

    def __init__(
        self, path: Path, keyboard: Keys, changes: Changes | None = None, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._path, self._keyboard, self._changes, self._clock = path, keyboard, changes, clock
        self._typing: str | None = None
        self._marks_at_s = self._book_at_s = float("-inf")

    def since(self, state: SoakState) -> Sequence[Said]:
        """Give what was said since the last time."""
        return [*self._keys(), *self._marks(state), *self._book(state)]

    def _keys(self) -> list[Said]:
        return [said for key in self._keyboard.poll() if (said := self._key(key)) is not None]

    def _key(self, key: str) -> Said | None:
        if self._typing is None:
            if key not in "tT":
                return None
            self._typing = ""
            click.echo("what do you turn, and how far? (Enter marks it, Escape: nothing was turned)", err=True)
            return Said("turning")
        if key in "\r\n":
            label, self._typing = self._typing.strip() or UNNAMED, None
            click.echo(f"-- {label} --", err=True)
            return Said("marked", label)
        if key == "\x1b":
            self._typing = None
            click.echo("nothing was turned", err=True)
            return Said("nothing")
        if key in "\x7f\b":
            self._typing = self._typing[:-1]
        elif key.isprintable():
            self._typing += key
        return None

    def _marks(self, state: SoakState) -> list[Said]:
        now = self._clock()
        if now - self._marks_at_s < MARKS_EVERY_S:
            return []
        self._marks_at_s = now
        labels = marks_of(self._path, state.marks)
        state.marks += len(labels)
        return [Said("marked", label) for label in labels]

    def _book(self, state: SoakState) -> list[Said]:
        now = self._clock()
        if self._changes is None or now - self._book_at_s < BOOK_EVERY_S:
            return []
        self._book_at_s = now
        found = self._changes(state.book_line)
        # what stands there when the soak begins was done before it
        new = [] if state.book_line < 0 else [Said("marked", says) for _, says in found]
        state.book_line = max([state.book_line, 0, *(number for number, _ in found)])
        return new
