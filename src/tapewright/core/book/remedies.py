"""Remedies in the book: an adjustment tells whether the fault went away by it."""

from collections.abc import Iterable

from tapewright.core.book.entry import Entry

#: the outcome of an adjustment by which the fault went away
HELPED = "helped"


def last_help(adjustments: Iterable[Entry]) -> int:
    """Give the number of the last line that tells of a remedy that helped, 0 when there is none."""
    return max((entry.number for entry in adjustments if entry.new.body.get("outcome") == HELPED), default=0)
