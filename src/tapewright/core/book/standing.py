"""Which lines stand: those that no other line replaces."""

from collections.abc import Iterable

from tapewright.core.book.entry import Entry


def standing(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Give the lines that no other of them replaces, oldest first."""
    lines = sorted(entries, key=lambda entry: entry.number)
    replaced = {entry.new.replaces for entry in lines}
    return tuple(entry for entry in lines if entry.key not in replaced)
