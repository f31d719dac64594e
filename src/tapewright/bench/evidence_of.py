"""Which piece of evidence a page is about: the one named in the path, or the newest of its sort."""

from typing import Any

from tapewright.bench.page import Asking
from tapewright.book.entry import Entry
from tapewright.book.ports import Book
from tapewright.errors import InputError

NEWEST = "newest"
MOST_LISTED = 20


def chosen(asking: Asking, machine: str, sort: str) -> Entry | None:
    """Return it; None when the newest is wanted and there is none.

    Raises:
        InputError: for evidence that is not of this machine or of another sort.
    """
    book, wanted = asking.bench.book, asking.where["entry"]
    if wanted == NEWEST:
        return next(iter(book.entries(machine, kinds=("evidence",), sort=sort, limit=1)), None)
    entry = book.entry(wanted)
    if entry.new.machine != machine or entry.new.body.get("sort") != sort:
        raise InputError("the book", expected=f"{sort} evidence of this machine", found=f"line {wanted[:12]!r}")
    return entry


def certain(asking: Asking, sort: str) -> Entry:
    """Return it.

    Raises:
        InputError: when there is none.
    """
    machine = asking.bench.book.machine(asking.where["machine"])
    entry = chosen(asking, machine.key, sort)
    if entry is None:
        raise InputError("the book", expected=f"{sort} evidence of {machine.name}", found="none")
    return entry


def told(entry: Entry) -> dict[str, Any]:
    """Return what a page says about where its evidence comes from."""
    body = entry.new.body
    return {
        "key": entry.key, "at": entry.at.isoformat(), "by": entry.new.by, "program": entry.program,
        "phase": body.get("phase", ""), "says": body.get("says", ""),
    }  # fmt: skip


def others(book: Book, machine: str, sort: str, shown: Entry | None) -> list[dict[str, str]]:
    """Return the other evidence of this sort, newest first."""
    lines = [line for line in book.timeline(machine, kinds=("evidence",), limit=200) if line.sort == sort]
    return [
        {"key": line.key, "at": line.at.isoformat(), "says": line.says}
        for line in lines if shown is None or line.key != shown.key
    ][:MOST_LISTED]  # fmt: skip
