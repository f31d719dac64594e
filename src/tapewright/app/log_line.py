"""Write a line of any kind: what was found, taken apart, changed, checked, seen."""

from collections.abc import Mapping, Sequence
from typing import Any

from tapewright.app.ports import Book
from tapewright.app.record_evidence import RawFile, sources_of, write_lines
from tapewright.core.book.entry import Entry, NewEntry
from tapewright.core.book.rechecks import still_owed
from tapewright.errors import InputError


def log_line(
    book: Book,
    machine: str,
    kind: str,
    body: Mapping[str, Any],
    raw: Sequence[RawFile] = (),
    *,
    by: str = "",
    rests_on: Sequence[str] = (),
    replaces: str | None = None,
) -> Entry:
    """Write one line.

    An adjustment that names what must be checked again writes a recheck that is owed for each, in the same go. A
    recheck that is done rests on the one of the same words that was owed.

    Args:
        book: where to.
        machine: name or key.
        kind: one of `KINDS`.
        body: fields of that kind.
        raw: pictures and other files that belong to it.
        by: who says so.
        rests_on: fingerprints, or their beginnings, of lines it was made from.
        replaces: fingerprint, or its beginning, of the line it corrects.

    Raises:
        InputError: a field that is not as it should be, no such machine or line.
    """
    key = book.machine(machine).key
    whole = {**body, "sources": sources_of(raw)} if raw else dict(body)
    named = [book.entry(start).key for start in rests_on]
    if kind == "recheck" and body.get("state") == "done" and not named:
        named = _owed(book, key, str(body.get("what", "")))
    return write_lines(
        book, machine, kind, whole, raw, by=by, rests_on=named,
        replaces=book.entry(replaces).key if replaces else None, with_it=_owes(key, kind, body, by),
    )  # fmt: skip


def _owed(book: Book, key: str, what: str) -> list[str]:
    owed = still_owed(book.entries(key, kinds=("recheck",)))
    meant = [entry.key for entry in owed if entry.new.body["what"].casefold() == what.casefold()]
    if meant:
        return meant
    there = "; ".join(entry.new.body["what"] for entry in owed) or "nothing"
    raise InputError("recheck", place="what", expected=f"one that is owed: {there}", found=repr(what),
                     do="Say it in the same words, or name the line with --rests-on.")  # fmt: skip


def _owes(key: str, kind: str, body: Mapping[str, Any], by: str) -> list[NewEntry]:
    checks = body.get("recheck", []) if kind == "adjustment" else []
    if not isinstance(checks, list):
        return []
    because = f"after: {body.get('what')}"
    return [NewEntry(key, "recheck", {"what": what, "state": "owed", "because": because}, by) for what in checks]
