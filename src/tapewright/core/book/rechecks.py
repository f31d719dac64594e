"""Checks that are owed after something was changed, and those that were done."""

from collections.abc import Iterable

from tapewright.core.book.entry import Entry
from tapewright.core.book.standing import standing


def still_owed(rechecks: Iterable[Entry]) -> tuple[Entry, ...]:
    """Give the rechecks that are owed and not done, oldest first.

    One that is done rests on the one that was owed; one that was corrected is spoken for by what replaces it.

    Args:
        rechecks: lines of kind "recheck", in any order.
    """
    lines = standing(rechecks)
    done = {key for entry in lines if entry.new.body.get("state") == "done" for key in entry.new.rests_on}
    return tuple(entry for entry in lines if entry.new.body.get("state") == "owed" and entry.key not in done)
