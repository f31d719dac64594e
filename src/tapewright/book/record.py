"""The book as commands and pages use it: open it, write a result, readings or a line, measure what is in it again."""

import secrets
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tapewright.errors import InputError

if TYPE_CHECKING:
    from tapewright.book.entry import Entry
    from tapewright.book.ports import Book
    from tapewright.book.recompute import Rejudged
    from tapewright.book.trials_in_book import Held
    from tapewright.furniture.record import Keeping
    from tapewright.gauges.journal import Journal
    from tapewright.gauges.requirement import Sheet

    Ask = Callable[[Sheet], Journal]


#: adjustments looked at in one go, the newest
MOST_CHANGES = 50


def open_book(where: str | None = None, *, create: bool = True) -> "Book":
    """Open the book in a file or at an address; None is the user's own. Begin one where there is none.

    Raises:
        InputError: when it is no book, or there is none and `create` is false.
    """
    from tapewright.book.store.open import open_book as opened

    return opened(where, create=create)


def book_with(where: str | None, machine: str) -> "Book | None":
    """Return the book if it has this machine; None when it has not, or when there is no book.

    Raises:
        InputError: when the book cannot be opened.
    """
    from tapewright.book.store.place import place_of

    place = place_of(where)
    if place.file is not None and not place.file.exists():
        return None
    book = open_book(where, create=False)
    try:
        book.machine(machine)
    except InputError:
        book.close()
        return None
    return book


def machine_in_book(where: str | None, machine: str) -> str:
    """Return the name of a machine that the book knows.

    Raises:
        InputError: no such book or machine.
    """
    with closing(open_book(where, create=False)) as book:
        return book.machine(machine).name


def keep_in_book(
    keep: "Keeping", document: dict[str, Any], files: Mapping[str, Path], command: str, settings: Mapping[str, Any]
) -> "tuple[str, Entry]":
    """Write a result with the files and the steps that made it; return the machine's name and the line.

    Raises:
        InputError: no such book or machine, or a file that changed meanwhile.
    """
    from tapewright.book.keep_result import Result, Taken, keep_result
    from tapewright.book.store.laid_out import raw_file

    with closing(open_book(keep.book, create=False)) as book:
        name = book.machine(keep.machine).name
        raw = [raw_file(role, path) for role, path in files.items()]
        return name, keep_result(book, keep.machine, Result(document, command, settings, raw, Taken(**keep.noted)))


def enter_in_book(keep: "Keeping", sheet: Path | None, variant: str, ask: "Ask") -> "tuple[str, Entry] | None":
    """Have readings of a machine of the book typed in and write them; return its name and the line, if any.

    Args:
        keep: where they go, and how they were taken.
        sheet: its sheet, for a machine that has none in the book yet; None for the one in the book.
        variant: variant of the machine, with `sheet`.
        ask: asks for the readings of a sheet.

    Raises:
        InputError: no such book or machine, or no sheet; readings that do not fit it.
        WrongUseError: a sheet that is not the machine's own.
    """
    from tapewright.book.gauges_in_book import SheetFilesInBook, add_readings, bring_first_sheet, sheet_in_book
    from tapewright.book.keep_result import Taken
    from tapewright.book.store.laid_out import raw_file

    with closing(open_book(keep.book, create=False)) as book:
        name = book.machine(keep.machine).name
        if sheet is not None:
            bring_first_sheet(book, keep.machine, raw_file("sheet", sheet), variant, keep.by)
        there = sheet_in_book(book, keep.machine)
        readings = ask(SheetFilesInBook(book).sheet(there.sheet, there.variant))
        return (name, add_readings(book, keep.machine, readings, Taken(**keep.noted))) if readings else None


def write_in_book(keep: "Keeping", kind: str, body: dict[str, Any], *, replaces: str = "", reason: str = "") -> "Entry":
    """Write one line without files into the book.

    Args:
        keep: where it goes, and who says so.
        kind: one of `KINDS`.
        body: fields of that kind.
        replaces: fingerprint of the line that it withdraws; one that this book does not know is let be.
        reason: why that one is withdrawn.

    Raises:
        InputError: no such book or machine, or a body that is not as it should be.
    """
    from tapewright.book.entry import AT_THE_BENCH, NewEntry
    from tapewright.book.keep_result import write_line

    with closing(open_book(keep.book, create=False)) as book:
        old = _line_of(book, keep.machine, kind, replaces) if replaces else None
        by = keep.by or (AT_THE_BENCH if old else "")
        return write_line(book, NewEntry(keep.machine, kind, body, by, replaces=old, reason=reason if old else ""))


@contextmanager
def changes_since(where: str | None, machine: str) -> "Iterator[Callable[[int], list[tuple[int, str]]]]":
    """Return what asks for number and words of each adjustment and trial after a line; below 0, for the last only.

    Raises:
        InputError: no such book or machine.
    """
    with closing(open_book(where, create=False)) as book:
        key = book.machine(machine).key

        def ask(after: int) -> list[tuple[int, str]]:
            lines = book.timeline(key, kinds=("adjustment", "trial"), limit=1 if after < 0 else MOST_CHANGES)
            return [(line.number, line.says) for line in reversed(lines) if line.number > after]

        yield ask


def _line_of(book: "Book", machine: str, kind: str, key: str) -> str | None:
    """Return the key when this book has such a line of this machine."""
    try:
        entry = book.entry(key)
    except InputError:
        return None
    return entry.key if entry.new.kind == kind and entry.new.machine == book.machine(machine).key else None


def measured_again(book: "Book", machine: str, limits: Mapping[str, Path], *, write: bool, by: str) -> "list[Rejudged]":
    """Measure a machine's evidence again.

    Args:
        book: where it is.
        machine: its key.
        limits: sort of evidence -> file of limits, or sheet, to judge it by instead of its own.
        write: whether to write what is another.
        by: who asks for it.
    """
    from tapewright.book.measured_again import measure_again
    from tapewright.book.recompute import LIMITS_FROM, recompute
    from tapewright.book.store.laid_out import laid_out, raw_file

    files = {sort: raw_file(LIMITS_FROM[sort], path) for sort, path in limits.items()}
    return list(recompute(book, machine, measure_again, laid_out, limits=files, write=write, by=by))


def fetch_for_trim(
    where: str | None, machine: str, files: Mapping[str, Path], folder: Path
) -> "tuple[dict[str, Path], dict[str, Held]]":
    """Return the files of a trim with what was not given taken from the machine's record, and what was taken.

    Args:
        where: the book; None is the user's own.
        machine: name or key.
        files: "trials" and "sheet", as far as they were given.
        folder: where copies go.

    Raises:
        InputError: no such book or machine; no trials given, and none in the book.
    """
    from tapewright.book.trials_in_book import taken_for_trim

    with closing(open_book(where, create=False)) as book:
        return taken_for_trim(book, machine, files, folder)


def new_machine_key() -> str:
    """Return a key for a new machine that no other machine in any book has: 128 random bits in hex."""
    return secrets.token_hex(16)


def program_version() -> str:
    """Return the version that stands beside what this program writes."""
    from tapewright import __version__

    return __version__


def recordings_folder(where: str | None) -> Path:
    """Return the folder: beside the book, else in the user's data folder; not among what a restart throws away."""
    from tapewright.book.store.place import data_folder, place_of

    file = place_of(where).file
    return data_folder() / "recordings" if file is None else file.with_name(f"{file.name}.recordings")
