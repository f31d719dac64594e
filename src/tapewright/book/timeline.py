"""A line of the book as a list shows it: one line of words, without the long document behind it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tapewright.book.entry import NewEntry
from tapewright.book.kinds import SORTS

LONGEST = 160

#: kind -> the fields of its body that say it shortest, in the order they are read aloud
SAID_BY: dict[str, tuple[str, ...]] = {
    "identity": ("name", "model", "serial"),
    "intake": ("came_from", "state"),
    "condition": ("part", "state", "do"),
    "dismantled": ("part", "bag", "shims", "springs"),
    "part": ("part", "what", "source"),
    "electrical check": ("between", "reading", "unit", "verdict"),
    "session": ("what", "minutes"),
    "evidence": ("sort", "phase", "says"),
    "sheet": ("name",),
    "trial": ("says",),
    "adjustment": ("what", "before", "after"),
    "verdicts": ("says",),
    "recheck": ("what", "state"),
    "caution": ("caution",),
    "photo": ("shows",),
    "note": ("text",),
    "record": ("which", "text"),
    "soak": ("characters", "wrong", "minutes"),
}


@dataclass(frozen=True, slots=True)
class TimelineLine:
    """One line of the book in a list.

    Attributes:
        number: place in the book.
        key: fingerprint of the whole entry.
        kind: one of `KINDS`.
        sort: for evidence, one of `SORTS`; else None.
        at: when it was written (UTC).
        by: who says so.
        says: the line in a few words.
        withdrawn: when, by whom and why it was withdrawn; empty for a line that stands.
    """

    number: int
    key: str
    kind: str
    sort: str | None
    at: datetime
    by: str
    says: str
    withdrawn: str = ""


def in_short(new: NewEntry) -> str:
    """Say a line in a few words, from the fields of its body that matter most."""
    words = [_words(new.body.get(field)) for field in SAID_BY[new.kind]]
    text = ", ".join(word for word in words if word)
    return text if len(text) <= LONGEST else text[: LONGEST - 3] + "..."


def sort_of(new: NewEntry) -> str | None:
    """Return the sort of an evidence line, None for any other line or a sort that is not known."""
    sort: Any = str(new.body.get("sort"))
    return sort if new.kind == "evidence" and sort in SORTS else None


def _words(value: Any) -> str:
    if value is None or isinstance(value, Mapping):
        return ""
    if isinstance(value, list | tuple):
        return " ".join(word for item in value if (word := _words(item)))
    return printable(str(value))


def printable(text: str) -> str:
    """Return a text on one line, without control characters: not every database, nor every terminal, can hold them."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())
