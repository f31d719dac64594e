"""What is known of a machine: what it is, its newest evidence, what is owed, its last lines."""

from collections.abc import Mapping
from dataclasses import dataclass

from tapewright.book.entry import Entry, MachineOnShelf
from tapewright.book.ports import Book
from tapewright.book.standing import still_owed
from tapewright.book.timeline import TimelineLine

LINES_SHOWN = 12


@dataclass(frozen=True, slots=True)
class Overview:
    """A machine at a glance.

    Attributes:
        machine: as it stands on the shelf.
        identity: its newest identity line.
        newest: newest evidence of each sort.
        owed: rechecks that are owed and not done, oldest first.
        counts: lines of each kind.
        lines: the last lines in short, newest first.
    """

    machine: MachineOnShelf
    identity: Entry
    newest: Mapping[str, Entry]
    owed: tuple[Entry, ...]
    counts: Mapping[str, int]
    lines: tuple[TimelineLine, ...]


def look_at_machine(book: Book, name: str, *, lines: int = LINES_SHOWN, before: int | None = None) -> Overview:
    """Gather what a person wants to see first.

    Args:
        book: where it is written.
        name: name or key of the machine.
        lines: how many lines of the timeline.
        before: only lines numbered below this, to turn the page.

    Raises:
        InputError: when there is no such machine.
    """
    machine = book.machine(name)
    return Overview(
        machine,
        book.entries(machine.key, kinds=("identity",), limit=1)[0],
        book.newest_evidence(machine.key),
        still_owed(book.entries(machine.key, kinds=("recheck",))),
        book.counts(machine.key),
        book.timeline(machine.key, before=before, limit=lines),
    )
