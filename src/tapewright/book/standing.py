"""Which lines stand, and which were withdrawn: a line withdraws one of its own kind, with a reason; both stay in sight.

Remedies: an adjustment tells whether the fault went away by it. Rechecks: those owed, and those done.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from tapewright.book.entry import Entry, NewEntry

#: the outcome of an adjustment by which the fault went away
HELPED = "helped"


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """A line that another one withdraws.

    Attributes:
        line: the line withdrawn.
        by: the line that withdraws it.
    """

    line: Entry
    by: Entry

    def __str__(self) -> str:
        """Say when, by whom and why."""
        return withdrawn_words(self.by.at, self.by.new)


def withdrawn_words(at: datetime, new: NewEntry) -> str:
    """Say when, by whom and why a line was withdrawn, from the line that withdraws it."""
    because = f"because {new.reason}" if new.reason else "without a reason"
    return f"withdrawn {at:%Y-%m-%d} by {new.by or 'nobody named'}, {because}"


def may_withdraw(new: NewEntry, old: NewEntry) -> bool:
    """Return whether a line may withdraw another: only one of the same machine, kind and sort of evidence."""
    same = new.machine == old.machine and new.kind == old.kind
    return same and (new.kind != "evidence" or new.body.get("sort") == old.body.get("sort"))


def withdrawn(entries: Iterable[Entry]) -> tuple[Withdrawn, ...]:
    """Return the lines that others of them withdraw, oldest first; what may not withdraw a line does not."""
    lines = sorted(entries, key=lambda entry: entry.number)
    by_key = {entry.key: entry for entry in lines}
    found: dict[str, Withdrawn] = {}
    for entry in lines:
        old = by_key.get(entry.new.replaces or "")
        if old is not None and may_withdraw(entry.new, old.new):
            found.setdefault(old.key, Withdrawn(old, entry))
    return tuple(found[entry.key] for entry in lines if entry.key in found)


def last_help(adjustments: Iterable[Entry]) -> int:
    """Return the number of the last line that stands and tells of a remedy that helped, 0 when there is none."""
    return max((entry.number for entry in standing(adjustments) if entry.new.body.get("outcome") == HELPED), default=0)


def standing(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Return the lines that no other of them withdraws, oldest first."""
    lines = sorted(entries, key=lambda entry: entry.number)
    gone = {each.line.key for each in withdrawn(lines)}
    return tuple(entry for entry in lines if entry.key not in gone)


def still_owed(rechecks: Iterable[Entry]) -> tuple[Entry, ...]:
    """Return the rechecks that are owed and not done, oldest first.

    One that is done rests on the one that was owed; one that was corrected is spoken for by what replaces it.

    Args:
        rechecks: lines of kind "recheck", in any order.
    """
    lines = standing(rechecks)
    done = {key for entry in lines if entry.new.body.get("state") == "done" for key in entry.new.rests_on}
    return tuple(entry for entry in lines if entry.new.body.get("state") == "owed" and entry.key not in done)
