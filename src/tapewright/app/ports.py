"""What the things a person does need from the outside world, as small protocols."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import BinaryIO, Literal, Protocol

from tapewright.core.book.entry import Entry, NewEntry
from tapewright.core.book.machine import MachineOnShelf
from tapewright.core.line.capture import Recording

Progress = Callable[[float], None]


class CaptureFiles(Protocol):
    """Reads recorded captures."""

    def recordings(
        self,
        path: Path,
        *,
        channel: str | None,
        rate_hz: float | None,
        threshold: Literal["auto"] | tuple[float, ...],
        progress: Progress,
    ) -> tuple[Recording, ...]:
        """Give one recording for each channel, or the one asked for."""
        ...

    def sha256(self, path: Path) -> str:
        """Give the fingerprint of the file's bytes."""
        ...


class Book(Protocol):
    """The record of a workshop. What `write` has returned is on disk for good."""

    def machines(self) -> tuple[MachineOnShelf, ...]:
        """Give all machines, by name."""
        ...

    def machine(self, name: str) -> MachineOnShelf:
        """Give the machine of this name or key.

        Raises:
            InputError: when there is none; names those there are.
        """
        ...

    def write(self, lines: Sequence[NewEntry], files: Mapping[str, Path | bytes]) -> tuple[Entry, ...]:
        """Write lines and the files they rest on, all or nothing.

        Args:
            lines: at least one; a first identity makes a machine.
            files: SHA-256 -> the bytes, or a path to them; those the book has already are passed over.

        Raises:
            InputError: a file that is not what its fingerprint says, a name taken, a book that cannot be written.
        """
        ...

    def entries(
        self,
        machine: str,
        *,
        kinds: Sequence[str] = (),
        sort: str | None = None,
        before: int | None = None,
        limit: int | None = None,
    ) -> tuple[Entry, ...]:
        """Give a machine's lines, newest first.

        Args:
            machine: its key.
            kinds: only these kinds; all when empty.
            sort: only evidence of this sort.
            before: only numbers below this, to turn the page.
            limit: at most so many.
        """
        ...

    def entry(self, key: str) -> Entry:
        """Give the line with this fingerprint, or with the only one that begins so."""
        ...

    def raw(self, sha256: str) -> BinaryIO:
        """Open a raw file for reading."""
        ...
