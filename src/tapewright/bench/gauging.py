"""Gauge readings from the page into the book: one reading is one line, with the whole sheet judged again beside it.

typed word --understood--> journal entry --added to the newest journal--> sheet checked --> evidence
undo: the newest journal without its last entry, as a line that replaces the one before
"""

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tapewright.book.entry import AT_THE_BENCH
from tapewright.book.entry import Entry as Line
from tapewright.book.ports import Book
from tapewright.errors import InputError

if TYPE_CHECKING:
    from tapewright.book.gauges_in_book import SheetInBook
    from tapewright.gauges.checking import SheetCheck
    from tapewright.gauges.journal import Entry, Journal
    from tapewright.gauges.requirement import Requirement
    from tapewright.gauges.typing_in import Question

LARGEST_SHEET = 500_000


@dataclass(frozen=True, slots=True, eq=False)
class Bound:
    """A machine's sheet with its journal and what they come to."""

    there: "SheetInBook"
    journal: "Journal"
    check: "SheetCheck"


def bound(book: Book, machine: str) -> Bound | None:
    """Return a machine's sheet with its readings; None when it has no sheet yet.

    Raises:
        InputError: when the readings do not fit the sheet any more.
    """
    from tapewright.book.gauges_in_book import SheetFilesInBook, sheet_in_book
    from tapewright.gauges.checking import check

    if not book.entries(machine, kinds=("sheet",), limit=1):
        return None
    there, files = sheet_in_book(book, machine), SheetFilesInBook(book)
    sheet = files.sheet(there.sheet, there.variant)
    journal = files.journal(there.readings, sheet) if there.readings else ()
    return Bound(there, journal, check(sheet, journal))


def question_of(requirement: "Requirement", position: str) -> "Question":
    """Return what one box asks: yes or no, a number, or either."""
    from tapewright.gauges.gauge import is_length
    from tapewright.gauges.requirement import EYE_WILL_DO, YES_OR_NO
    from tapewright.gauges.typing_in import Question

    kind = requirement.kind
    leaves = is_length(requirement.unit)
    return Question(requirement.id, position, kind in EYE_WILL_DO, kind not in YES_OR_NO, leaves)


def read_typed(requirement: "Requirement", position: str, typed: str) -> "Entry":
    """Return the reading that was typed.

    Raises:
        InputError: when it makes no sense for this requirement.
    """
    from tapewright.gauges.typing_in import understood

    question = question_of(requirement, position)
    entry = understood(typed.strip().lower(), question) if typed.strip() else None
    if entry is None:
        number = "a number, two numbers (goes, does not go), >0.2 or <0.2, or leaves such as 0.10+0.15"
        takes = [number] * question.takes_number + ["y or n"] * question.takes_eye
        raise InputError("the reading", expected=" or ".join(takes), found=repr(typed[:40]))
    return entry


def add(book: Book, machine: str, entry: "Entry", by: str) -> Line:
    """Add one entry to the journal."""
    from tapewright.book.gauges_in_book import add_readings
    from tapewright.book.keep_result import Taken

    return add_readings(book, machine, (entry,), Taken(by=by))


def take_back_last(book: Book, machine: str) -> Line:
    """Take the last entry of the journal back: a line with the journal before it replaces the newest one.

    Raises:
        InputError: when there is nothing to take back.
    """
    from tapewright.book.keep_result import RawFile, Result, Taken, keep_result
    from tapewright.gauges.checking import check
    from tapewright.gauges.files.journal_file import journal_toml
    from tapewright.gauges.measure import document as sheet_document

    kept = bound(book, machine)
    if kept is None or kept.there.evidence is None or not kept.journal:
        raise InputError("the journal", expected="a reading to take back", found="none")
    journal = kept.journal[:-1]
    document = sheet_document(check(kept.check.sheet, journal))
    written = journal_toml(journal).encode()
    sha256, _, name = kept.there.sheet.partition("/")
    raw = [
        RawFile("sheet", name, sha256),
        RawFile("readings", "readings.toml", hashlib.sha256(written).hexdigest(), written),
    ]
    newest = kept.there.evidence
    settings, taken = {"variant": kept.there.variant}, Taken(newest.new.body["phase"], AT_THE_BENCH)
    result = Result(
        document,
        "sheet check",
        settings,
        raw,
        taken,
        (newest.key,),
        newest.key,
        "its last entry was taken back",
        "Taken back",
    )
    return keep_result(book, machine, result)


def bring_sheet(book: Book, machine: str, name: str, content: bytes, variant: str, by: str) -> Line:
    """Make this the machine's sheet.

    Raises:
        InputError: when it is too long to be one.
        InputFaultsError: with every fault of it; nothing is written then.
    """
    from tapewright.book.entry import NewEntry
    from tapewright.book.keep_result import RawFile, write_line
    from tapewright.gauges.files.sheet_file import read_sheet

    if len(content) > LARGEST_SHEET:
        raise InputError(name, expected=f"a sheet of at most {LARGEST_SHEET} bytes", found=f"{len(content)} bytes")
    read_sheet(name, content, variant)
    file = RawFile("sheet", name, hashlib.sha256(content).hexdigest(), content)
    return write_line(book, NewEntry(machine, "sheet", {"name": name, "variant": variant}, by), [file])
