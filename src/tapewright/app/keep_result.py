"""Keep what a measuring command says: as evidence, or as a trial; a sheet that is new goes in beside it."""

from collections.abc import Mapping, Sequence
from pathlib import PurePath
from typing import Any

from tapewright.app.ports import Book
from tapewright.app.record_evidence import RawFile, Taken, how_taken, record_evidence, sources_of, write_lines
from tapewright.core.book.entry import Entry, NewEntry
from tapewright.core.book.in_words import in_a_sentence

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
    """Give the line that makes this the machine's sheet; None when it is that already."""
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
