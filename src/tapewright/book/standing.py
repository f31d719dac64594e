"""Which lines stand: those that no other line replaces.

Remedies in the book: an adjustment tells whether the fault went away by it.

Checks that are owed after something was changed, and those that were done.
"""

from collections.abc import Iterable

from tapewright.book.entry import Entry

#: the outcome of an adjustment by which the fault went away
HELPED = "helped"


def last_help(adjustments: Iterable[Entry]) -> int:
    """Return the number of the last line that stands and tells of a remedy that helped, 0 when there is none."""
    return max((entry.number for entry in standing(adjustments) if entry.new.body.get("outcome") == HELPED), default=0)


def standing(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Return the lines that no other of them replaces, oldest first."""
    lines = sorted(entries, key=lambda entry: entry.number)
    replaced = {entry.new.replaces for entry in lines}
    return tuple(entry for entry in lines if entry.key not in replaced)


def still_owed(rechecks: Iterable[Entry]) -> tuple[Entry, ...]:
    """Return the rechecks that are owed and not done, oldest first.

    One that is done rests on the one that was owed; one that was corrected is spoken for by what replaces it.

    Args:
        rechecks: lines of kind "recheck", in any order.
    """
    lines = standing(rechecks)
    done = {key for entry in lines if entry.new.body.get("state") == "done" for key in entry.new.rests_on}
    return tuple(entry for entry in lines if entry.new.body.get("state") == "owed" and entry.key not in done)
