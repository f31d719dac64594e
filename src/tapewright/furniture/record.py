"""What a room may ask of the book, and of whoever waits, without knowing either.

A room measures; the doors keep what it measured. The terminal hands its commands the book as a `Record`
(`click.Context.obj`); where a command is run without a door there is none, and keeping is refused.
"""

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

import click

#: takes the fraction done, 0 to 1
Progress = Callable[[float], None]


@dataclass(frozen=True, slots=True)
class Keeping:
    """Where a result goes, and what was noted of the measuring."""

    machine: str
    book: str | None
    noted: Mapping[str, Any]

    @property
    def by(self) -> str:
        """Who measured; empty when not said."""
        return str(self.noted.get("by", ""))


class Line(Protocol):
    """A line of the book."""

    @property
    def key(self) -> str:
        """Its fingerprint."""

    @property
    def number(self) -> int:
        """Its number in this book."""


class Held(Protocol):
    """A file that the book holds, with the line that brought it."""

    @property
    def name(self) -> str:
        """The file's name."""

    @property
    def line(self) -> Line:
        """The line that brought it."""

    @property
    def variant(self) -> str:
        """The machine's variant, for a sheet."""


class Record(Protocol):
    """The book, as far as a measuring command needs it. `where` is a file or an address, None for the user's own.

    Every method raises InputError when there is no such book or machine.
    """

    def machine_in_book(self, where: str | None, machine: str) -> str:
        """Return the name of a machine that the book knows."""

    def keep_in_book(
        self,
        keep: Keeping,
        document: dict[str, Any],
        files: Mapping[str, Path],
        command: str,
        settings: Mapping[str, Any],
    ) -> tuple[str, Line]:
        """Write a result with the files and the steps that made it; return the machine's name and the line."""

    def write_in_book(
        self, keep: Keeping, kind: str, body: dict[str, Any], *, replaces: str = "", reason: str = ""
    ) -> Line:
        """Write one line without files."""

    def changes_since(
        self, where: str | None, machine: str
    ) -> AbstractContextManager[Callable[[int], list[tuple[int, str]]]]:
        """Return what asks for number and words of each adjustment and trial after a line; below 0: the last."""

    def enter_in_book(
        self, keep: Keeping, sheet: Path | None, variant: str, ask: Callable[[Any], Any]
    ) -> tuple[str, Line] | None:
        """Have readings typed in and write them; return name and line, None when none were typed."""

    def fetch_for_trim(
        self, where: str | None, machine: str, files: Mapping[str, Path], folder: Path
    ) -> tuple[dict[str, Path], Mapping[str, Held]]:
        """Return the files of a trim, those not given taken from the machine's record, and what was taken."""


def record() -> Record:
    """Return the book that the terminal handed to the command that runs now."""
    door: Record = click.get_current_context().find_root().obj
    return door
