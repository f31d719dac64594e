"""Measure old evidence again, with a new version or new limits, and write down what came out differently.

Picture: evidence, as it was <-- rests on -- verdicts, as it comes out now; written only where something is another.
"""

from collections.abc import Iterator, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from tapewright.book.entry import Entry, MachineOnShelf, NewEntry
from tapewright.book.in_words import in_a_sentence, verdicts_of
from tapewright.book.keep_result import RawFile, without_folders, write_line
from tapewright.book.ports import Book
from tapewright.book.what_changed import FigureChange, VerdictChange, figure_changes, verdict_changes
from tapewright.errors import TapewrightError

#: sort of evidence -> the raw file that its limits come from
LIMITS_FROM = {"line": "limits", "tape": "limits", "gauge": "sheet"}


class MeasureAgain(Protocol):
    """Measures raw files as a command does."""

    def __call__(self, command: str, files: Mapping[str, Path], settings: Mapping[str, Any]) -> dict[str, Any]:
        """Return the document the command makes of these files now."""
        ...


class LayOut(Protocol):
    """Lays raw files of a book out on disk, for as long as they are needed."""

    def __call__(self, book: Book, sources: list[Mapping[str, Any]]) -> AbstractContextManager[dict[str, Path]]:
        """Return where each lies, by what it is."""
        ...


@dataclass(frozen=True, slots=True)
class Rejudged:
    """One line of evidence, measured again.

    Attributes:
        machine: whose it is.
        old: the line.
        before: the document it is compared with: of the newest line of verdicts that rests on it, else its own.
        after: the document now; None when it could not be measured again.
        verdicts, figures: what is another.
        written: the new line; None when nothing is another, or nothing was to be written.
        why: why it could not be measured again; empty when it could.
    """

    machine: MachineOnShelf
    old: Entry
    before: Mapping[str, Any]
    after: Mapping[str, Any] | None
    verdicts: tuple[VerdictChange, ...] = ()
    figures: tuple[FigureChange, ...] = ()
    written: Entry | None = None
    why: str = ""

    @property
    def state(self) -> str:
        """Say "same", "changed" or "cannot"."""
        return "cannot" if self.after is None else "changed" if self.verdicts or self.figures else "same"


def recompute(
    book: Book,
    machine: str | None,
    measure: MeasureAgain,
    lay_out: LayOut,
    *,
    limits: Mapping[str, RawFile],
    write: bool,
    by: str = "",
) -> Iterator[Rejudged]:
    """Measure the evidence of a machine, or of all, again; old lines stay as they are.

    Args:
        book: where it is.
        machine: name or key; None for all.
        measure: measures.
        lay_out: lays raw files out.
        limits: sort of evidence -> the file of limits (or the sheet) to judge it by instead of its own.
        write: whether to write what is another.
        by: who asks for it.

    Yields:
        one after the other, oldest first.

    Raises:
        InputError: when there is no such machine, or the book cannot be written.
    """
    for each in [book.machine(machine)] if machine else book.machines():
        for entry in book.read_through(each.key):
            command = entry.new.body.get("steps", {}).get("command") if entry.new.kind == "evidence" else None
            if command and entry.new.files:
                yield _one(book, each, entry, measure, lay_out, limits.get(entry.new.body["sort"]), write=write, by=by)


def _one(
    book: Book,
    machine: MachineOnShelf,
    old: Entry,
    measure: MeasureAgain,
    lay_out: LayOut,
    limits: RawFile | None,
    *,
    write: bool,
    by: str,
) -> Rejudged:
    last = _judged_last(book, old)
    steps, before = old.new.body["steps"], last.new.body["result"]
    # limits that came with a later judging stay in force until others are given
    sources = [*old.new.body.get("sources", ()), *(last.new.body.get("sources", ()) if last is not old else ())]
    try:
        with lay_out(book, sources) as files:
            if limits is not None and isinstance(limits.source, Path):
                files = {**files, limits.role: limits.source}
            after = without_folders(measure(steps["command"], files, steps.get("settings", {})))
    except TapewrightError as problem:
        return Rejudged(machine, old, before, None, why=str(problem))
    found = Rejudged(machine, old, before, after, verdict_changes(before, after), figure_changes(before, after))
    if found.state == "same" or not write:
        return found
    return Rejudged(machine, old, before, after, found.verdicts, found.figures, _write(book, found, limits, by))


def _judged_last(book: Book, old: Entry) -> Entry:
    later = [entry for entry in book.naming(old.key) if entry.new.kind == "verdicts" and "result" in entry.new.body]
    return later[-1] if later else old


def _write(book: Book, found: Rejudged, limits: RawFile | None, by: str) -> Entry:
    after = dict(found.after or {})
    body = {
        "says": f"line {found.old.number} again: {in_a_sentence(after)}",
        "verdicts": [dict(verdict) for verdict in verdicts_of(after)],
        "result": after,
        "limits": limits.name if limits else "as before",
        "steps": found.old.new.body["steps"],
        "sources": [],
    }
    line = NewEntry(found.machine.key, "verdicts", body, by, (), (found.old.key,))
    return write_line(book, line, [limits] if limits else ())
