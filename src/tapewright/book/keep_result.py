"""Keep a result, or write a line of any other kind.

Result   --keep_result-->  evidence, or a trial with its advice; before it the sheet, if that is new
NewEntry --write_line-->   any line: what was found, taken apart, changed, checked, seen
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import PurePath
from typing import Any

from tapewright.book.bodies import LONGEST_NAME, check_text, checked
from tapewright.book.entry import Entry, NewEntry
from tapewright.book.in_words import in_a_sentence
from tapewright.book.kinds import SORTS
from tapewright.book.ports import Book, RawSource
from tapewright.book.standing import still_owed
from tapewright.errors import InputError

TRIM = "tapewright/trim/1"


@dataclass(frozen=True, slots=True)
class RawFile:
    """A file that a result was made from.

    Attributes:
        role: what the measuring calls it: "capture", "picture", "current", "sheet", "readings", "limits", ...
        name: its name, without a folder.
        sha256: fingerprint of its bytes.
        source: where the bytes are; None when the book has them already.
    """

    role: str
    name: str
    sha256: str
    source: RawSource | None = field(repr=False, default=None)


@dataclass(frozen=True, slots=True)
class Taken:
    """How and when it was measured; what was not said is empty or None.

    Attributes:
        phase: one of `PHASES`.
        by: who measured.
        instrument: with what.
        temperature_c: temperature of the room, degrees Celsius.
        running_minutes: how long the machine had been running.
        supply_percent: supply against its nominal value, per cent: 0 is nominal.
        keyed: what set the pace: "hand", "tape", "signal".
        note: anything else.
    """

    phase: str = "between"
    by: str = ""
    instrument: str = ""
    temperature_c: float | None = None
    running_minutes: float | None = None
    supply_percent: float | None = None
    keyed: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Result:
    """A result with all that goes into the book with it.

    Attributes:
        document: as the measuring command writes it; its format says which sort it is.
        command, settings: how it was made from the files.
        raw: the files it was made from.
        taken: how and when.
        rests_on: fingerprints of lines it was made from.
        replaces: fingerprint of the line that it withdraws.
        reason: why that one is withdrawn.
        done: what was done to come to it, before the sentence that sums it up.
        then: other lines to write in the same go, after it.
    """

    document: Mapping[str, Any]
    command: str
    settings: Mapping[str, Any] = field(default_factory=dict)
    raw: Sequence[RawFile] = ()
    taken: Taken = Taken()
    rests_on: tuple[str, ...] = ()
    replaces: str | None = None
    reason: str = ""
    done: str = ""
    then: Sequence[NewEntry] = ()


def keep_result(book: Book, machine: str, result: Result) -> Entry:
    """Write a result into the book, all or nothing.

    Raises:
        InputError: no such machine, a document that is no result, a file that changed meanwhile, a book that cannot be
            written.
    """
    document, taken = without_folders(result.document), result.taken
    says = "; ".join(part for part in (result.done, in_a_sentence(document)) if part)
    body = {
        "says": says,
        "sources": sources_of(result.raw),
        "steps": {"command": result.command, "settings": dict(result.settings)},
    }
    for name in ("instrument", "temperature_c", "running_minutes", "supply_percent", "keyed", "note"):
        if (value := getattr(taken, name)) not in (None, ""):
            body[name] = value
    sheets = []
    if document.get("format") == TRIM:
        kind, body = "trial", body | {"advice": document}
    else:
        kind, body = "evidence", body | {"sort": _sort(document), "phase": taken.phase, "result": document}
        if result.replaces is None:
            variant = str(result.settings.get("variant", ""))
            sheets = [sheet_line(book, machine, file, variant, taken.by) for file in result.raw if file.role == "sheet"]
    line = NewEntry(machine, kind, body, taken.by, (), result.rests_on, result.replaces, result.reason)
    return write_line(book, line, result.raw, before=[each for each in sheets if each is not None], then=result.then)


def write_line(
    book: Book,
    line: NewEntry,
    raw: Sequence[RawFile] = (),
    *,
    before: Sequence[NewEntry] = (),
    then: Sequence[NewEntry] = (),
) -> Entry:
    """Write one line of any kind with its raw files, which its body names; other lines before and after it in one go.

    Args:
        book: where to.
        line: the line; its machine may be a name or a key.
        raw: its files.
        before: other lines to write before it.
        then: the same, after it.

    Raises:
        InputError: a field that is not as it should be, and all that the book refuses.
    """
    body = {**line.body, "sources": sources_of(raw)} if raw else line.body
    files = tuple(dict.fromkeys(file.sha256 for file in raw))
    whole = checked_line(replace(line, machine=book.machine(line.machine).key, body=body, files=files))
    sources = {file.sha256: file.source for file in raw if file.source is not None}
    return book.write([*before, whole, *then], sources)[len(before)]


def checked_line(line: NewEntry) -> NewEntry:
    """Return the line when its body says what a line of its kind must say.

    Raises:
        InputError: a field that is not as it should be.
    """
    try:
        check_text("by", line.by, LONGEST_NAME)
        check_text("reason", line.reason, LONGEST_NAME)
        return replace(line, body=checked(line.kind, line.body))
    except ValueError as problem:
        expected = "fields as `machine log --kinds` tells"
        raise InputError(f"line of kind {line.kind!r}", expected=expected, found=str(problem)) from problem


def _sort(document: Mapping[str, Any]) -> str:
    """Return the sort of evidence a result document is."""
    found = document.get("format")
    for sort, name in SORTS.items():
        if found == name:
            return sort
    raise InputError("result", place="format", expected=", ".join(SORTS.values()), found=repr(found))


def sheet_line(book: Book, machine: str, sheet: RawFile, variant: str, by: str) -> NewEntry | None:
    """Return the line that makes this the machine's sheet; None when it is that already."""
    key = book.machine(machine).key
    newest = book.entries(key, kinds=("sheet",), limit=1)
    if newest and sheet.sha256 in newest[0].new.files:
        return None
    body = {"name": sheet.name, "sources": sources_of([sheet]), "variant": variant}
    return NewEntry(key, "sheet", body, by, (sheet.sha256,))


def sources_of(raw: Sequence[RawFile]) -> list[dict[str, str]]:
    """Return the raw files as a line's body names them."""
    return [{"sha256": file.sha256, "name": file.name, "role": file.role} for file in raw]


def without_folders(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return the document without the folders of one bench, which are no other bench's business."""
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
    return book.write([checked_line(NewEntry(key, "identity", identity, by))], {})[0]


def log_line(
    book: Book,
    line: NewEntry,
    raw: Sequence[RawFile] = (),
    *,
    rests_on: Sequence[str] = (),
    replaces: str | None = None,
    reason: str = "",
) -> Entry:
    """Write one line as a person gives it.

    An adjustment that names what must be checked again writes a recheck that is owed for each, in the same go. A
    recheck that is done rests on the one of the same words that was owed.

    Args:
        book: where to.
        line: its machine may be a name or a key.
        raw: pictures and other files that belong to it.
        rests_on: fingerprints, or their beginnings, of lines it was made from.
        replaces: the same of the line it withdraws.
        reason: why that one is withdrawn.

    Raises:
        InputError: a field that is not as it should be, no such machine or line.
    """
    key = book.machine(line.machine).key
    named = tuple(book.entry(start).key for start in rests_on)
    if line.kind == "recheck" and line.body.get("state") == "done" and not named:
        named = _owed(book, key, str(line.body.get("what", "")))
    old = book.entry(replaces).key if replaces else None
    whole = replace(line, machine=key, rests_on=named, replaces=old, reason=reason)
    return write_line(book, whole, raw, before=_owes(whole))


def _owed(book: Book, key: str, what: str) -> tuple[str, ...]:
    owed = still_owed(book.entries(key, kinds=("recheck",)))
    meant = tuple(entry.key for entry in owed if entry.new.body["what"].casefold() == what.casefold())
    if meant:
        return meant
    there = "; ".join(entry.new.body["what"] for entry in owed) or "nothing"
    do = "Say it in the same words, or name the line with --rests-on."
    raise InputError("recheck", place="what", expected=f"one that is owed: {there}", found=repr(what), do=do)


def _owes(line: NewEntry) -> list[NewEntry]:
    checks = line.body.get("recheck", []) if line.kind == "adjustment" else []
    if not isinstance(checks, list):
        return []
    because = f"after: {line.body.get('what')}"
    bodies = [{"what": what, "state": "owed", "because": because} for what in checks]
    return [NewEntry(line.machine, "recheck", body, line.by) for body in bodies]
