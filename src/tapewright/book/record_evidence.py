"""Write what was measured into the book, with the raw files and the steps that made it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from tapewright.book.bodies import checked
from tapewright.book.entry import Entry, NewEntry
from tapewright.book.in_words import in_a_sentence
from tapewright.book.kinds import SORTS
from tapewright.book.ports import Book, RawSource
from tapewright.errors import InputError


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
    """How and when it was measured.

    Attributes:
        phase: one of `PHASES`.
        by: who measured.
        instrument: with what.
        temperature_c: temperature of the room, degrees Celsius.
        running_minutes: how long the machine had been running.
        supply_percent: supply against its nominal value, per cent: 0 is nominal.
        keyed: what set the pace: "hand", "tape", "signal"; empty when not said.
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


def record_evidence(
    book: Book,
    machine: str,
    document: Mapping[str, Any],
    raw: Sequence[RawFile],
    steps: Mapping[str, Any],
    taken: Taken,
    *,
    rests_on: Sequence[str] = (),
    with_it: Sequence[NewEntry] = (),
    then: Sequence[NewEntry] = (),
) -> Entry:
    """Write one result as evidence.

    Args:
        book: where to.
        machine: name or key.
        document: the result, as the measuring command writes it; its format says which sort it is.
        raw: the files it was made from.
        steps: {"command", "settings"}: how it was made from them.
        taken: how and when.
        rests_on: fingerprints of lines it was made from.
        with_it: other lines to write in the same go, before it.
        then: the same, after it.

    Raises:
        InputError: no such machine, a file that changed meanwhile, a book that cannot be written.
    """
    sort = sort_of_document(document)
    body = {
        "sort": sort, "phase": taken.phase, "says": in_a_sentence(document), "result": dict(document),
        "sources": sources_of(raw), "steps": dict(steps), **how_taken(taken),
    }  # fmt: skip
    return write_lines(book, machine, "evidence", body, raw, by=taken.by, rests_on=rests_on, with_it=with_it,
                       then=then)  # fmt: skip


def write_lines(
    book: Book,
    machine: str,
    kind: str,
    body: Mapping[str, Any],
    raw: Sequence[RawFile] = (),
    *,
    by: str = "",
    rests_on: Sequence[str] = (),
    replaces: str | None = None,
    with_it: Sequence[NewEntry] = (),
    then: Sequence[NewEntry] = (),
) -> Entry:
    """Write one line of any kind, its body checked, with its raw files; other lines before and after it in the same go.

    Raises:
        InputError: a field that is not as it should be, and all that the book refuses.
    """
    line = new_line(book.machine(machine).key, kind, body, raw, by=by, rests_on=rests_on, replaces=replaces)
    sources = {file.sha256: file.source for file in raw if file.source is not None}
    return book.write([*with_it, line, *then], sources)[len(with_it)]


def new_line(
    key: str,
    kind: str,
    body: Mapping[str, Any],
    raw: Sequence[RawFile] = (),
    *,
    by: str = "",
    rests_on: Sequence[str] = (),
    replaces: str | None = None,
) -> NewEntry:
    """Return a line about the machine of this key, its body checked.

    Raises:
        InputError: a field that is not as it should be.
    """
    try:
        whole = checked(kind, body)
    except ValueError as problem:
        raise InputError(f"line of kind {kind!r}", expected="fields as `machine log --kinds` tells",
                         found=str(problem)) from problem  # fmt: skip
    files = tuple(dict.fromkeys(file.sha256 for file in raw))
    return NewEntry(key, kind, whole, by, files, tuple(rests_on), replaces)


def sort_of_document(document: Mapping[str, Any]) -> str:
    """Return the sort of evidence a result document is.

    Raises:
        InputError: when it is none.
    """
    for sort, name in SORTS.items():
        if document.get("format") == name:
            return sort
    raise InputError("result", place="format", expected=", ".join(SORTS.values()), found=repr(document.get("format")))


def sources_of(raw: Sequence[RawFile]) -> list[dict[str, str]]:
    """Name the raw files as a line's body does."""
    return [{"sha256": file.sha256, "name": file.name, "role": file.role} for file in raw]


def how_taken(taken: Taken) -> dict[str, Any]:
    """Return what was said of the measuring; what was not said is left out."""
    said = {
        "instrument": taken.instrument, "temperature_c": taken.temperature_c,
        "running_minutes": taken.running_minutes, "supply_percent": taken.supply_percent, "keyed": taken.keyed,
        "note": taken.note,
    }  # fmt: skip
    return {key: value for key, value in said.items() if value not in (None, "")}
