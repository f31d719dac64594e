"""Keep what a measuring command says: as evidence, or as a trial; a sheet that is new goes in beside it.

Begin the record of a machine.

Write a line of any kind: what was found, taken apart, changed, checked, seen.
"""

from collections.abc import Mapping, Sequence
from pathlib import PurePath
from typing import Any

from tapewright.book.bodies import checked
from tapewright.book.entry import Entry, NewEntry
from tapewright.book.in_words import in_a_sentence
from tapewright.book.ports import Book
from tapewright.book.record_evidence import RawFile, Taken, how_taken, record_evidence, sources_of, write_lines
from tapewright.book.standing import still_owed
from tapewright.errors import InputError

TRIM = "tapewright/trim/1"


def keep_result(
    book: Book,
    machine: str,
    document: Mapping[str, Any],
    raw: Sequence[RawFile],
    steps: Mapping[str, Any],
    taken: Taken,
    *,
    rests_on: Sequence[str] = (),
    then: Sequence[NewEntry] = (),
) -> Entry:
    """Write a result document of any measuring command; other lines after it in the same go.

    Raises:
        InputError: no such machine, a file that changed meanwhile, a book that cannot be written.
    """
    document = without_folders(document)
    if document.get("format") == TRIM:
        body = {"says": in_a_sentence(document), "advice": dict(document), "sources": sources_of(raw),
                "steps": dict(steps), **how_taken(taken)}  # fmt: skip
        return write_lines(book, machine, "trial", body, raw, by=taken.by, rests_on=rests_on, then=then)
    sheets = [sheet_line(book, machine, file, steps, taken.by) for file in raw if file.role == "sheet"]
    with_it = [line for line in sheets if line is not None]
    return record_evidence(book, machine, document, raw, steps, taken, rests_on=rests_on, with_it=with_it, then=then)


def sheet_line(book: Book, machine: str, sheet: RawFile, steps: Mapping[str, Any], by: str) -> NewEntry | None:
    """Return the line that makes this the machine's sheet; None when it is that already."""
    key = book.machine(machine).key
    newest = book.entries(key, kinds=("sheet",), limit=1)
    if newest and sheet.sha256 in newest[0].new.files:
        return None
    variant = steps.get("settings", {}).get("variant", "")
    body = {"name": sheet.name, "sources": sources_of([sheet]), "variant": variant}
    return NewEntry(key, "sheet", body, by, (sheet.sha256,))


def without_folders(document: Mapping[str, Any]) -> dict[str, Any]:
    """Leave the folders of one bench out of what every bench may read."""
    source = document.get("source")
    if not isinstance(source, Mapping) or not isinstance(source.get("file"), str):
        return dict(document)
    return {**document, "source": {**source, "file": PurePath(source["file"]).name}}


def begin_machine(book: Book, key: str, identity: Mapping[str, Any], *, by: str = "") -> Entry:
    """Write a machine's first identity.

    Args:
        book: where to.
        key: a fresh random key of 32 hex digits.
        identity: fields of kind "identity".
        by: who says so.

    Raises:
        InputError: a field that is not as it should be, or a name taken.
    """
    try:
        body = checked("identity", identity)
    except ValueError as problem:
        raise InputError("identity", expected="fields as `machine log --kinds` tells", found=str(problem)) from problem
    return book.write([NewEntry(key, "identity", body, by)], {})[0]


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
