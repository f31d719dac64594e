"""What the things a person does need from the outside world, as small protocols."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import BinaryIO, Protocol

from tapewright.book.entry import Entry, MachineOnShelf, NewEntry
from tapewright.book.timeline import TimelineLine

#: where the bytes of a raw file come from: the bytes, a file on disk, or a function that opens them
RawSource = Path | bytes | Callable[[], BinaryIO]


class Book(Protocol):
    """The record of a workshop. What `write` has returned is on disk for good."""

    def machines(self) -> tuple[MachineOnShelf, ...]:
        """Return all machines, by name."""
        ...

    def machine(self, name: str) -> MachineOnShelf:
        """Return the machine of this name or key.

        Raises:
            InputError: when there is none; names those there are.
        """
        ...

    def write(self, lines: Sequence[NewEntry], files: Mapping[str, RawSource]) -> tuple[Entry, ...]:
        """Write lines and the files they rest on, all or nothing.

        Args:
            lines: at least one; a first identity makes a machine.
            files: SHA-256 -> where its bytes are; those the book has already are passed over.

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
        """Return a machine's lines, newest first.

        Args:
            machine: its key.
            kinds: only these kinds; all when empty.
            sort: only evidence of this sort.
            before: only numbers below this, to turn the page.
            limit: at most so many.
        """
        ...

    def entry(self, key: str) -> Entry:
        """Return the line with this fingerprint, or with the only one that begins so."""
        ...

    def raw(self, sha256: str) -> BinaryIO:
        """Open a raw file for reading."""
        ...

    def take_in(self, entries: Iterable[Entry], files: Mapping[str, RawSource]) -> int:
        """Write lines of another book as they stand there, all or nothing; those that are here are passed over.

        Lines come oldest first. All lines are numbered anew, in the order of time. A machine whose name another has
        here goes on the shelf as "NAME (2)".

        Returns:
            how many are new.

        Raises:
            InputError: a line or a file that is not what its fingerprint says, a book that cannot be written.
        """
        ...

    def timeline(
        self, machine: str, *, kinds: Sequence[str] = (), before: int | None = None, limit: int | None = None
    ) -> tuple[TimelineLine, ...]:
        """Return a machine's lines in short, newest first: for lists, without the long documents."""
        ...

    def newest_evidence(self, machine: str) -> Mapping[str, Entry]:
        """Return the newest evidence of each sort there is."""
        ...

    def counts(self, machine: str) -> Mapping[str, int]:
        """Return how many lines of each kind there are about a machine; kinds without any are left out."""
        ...

    def naming(self, key: str) -> tuple[Entry, ...]:
        """Return the lines that rest on this one or replace it, oldest first."""
        ...

    def arrived(self) -> int:
        """Return how many lines there are."""
        ...

    def read_through(self, machine: str | None = None, *, arrived: int | None = None) -> Iterator[Entry]:
        """Return all lines there are now, or those of one machine, oldest first; only a few are in memory at a time.

        Args:
            machine: its key.
            arrived: those that were there when the book had so many.
        """
        ...

    def raw_files(self) -> Mapping[str, int]:
        """Return the fingerprints of all raw files, with their lengths in bytes."""
        ...

    def close(self) -> None:
        """Let go of the database."""
        ...
