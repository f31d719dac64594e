"""A machine's sheet and its newest readings, from the book."""

from dataclasses import dataclass

from tapewright.app.check_sheet import SheetFiles, check_sheet
from tapewright.app.ports import Book
from tapewright.core.book.entry import Entry
from tapewright.core.mechanism.checking import SheetCheck
from tapewright.errors import InputError


@dataclass(frozen=True, slots=True)
class SheetInBook:
    """What the book holds of a machine's sheet; files are named FINGERPRINT/NAME.

    Attributes:
        line: the newest sheet line.
        sheet: the sheet's file.
        readings: the newest journal of readings, None for none.
        evidence: the gauge evidence that journal came with, None for none.
        variant: variant of the machine.
    """

    line: Entry
    sheet: str
    readings: str | None
    evidence: Entry | None
    variant: str


def sheet_in_book(book: Book, machine: str) -> SheetInBook:
    """Find a machine's sheet and the newest readings judged against it.

    Args:
        book: where they are.
        machine: name or key.

    Raises:
        InputError: when the machine has no sheet.
    """
    key = book.machine(machine).key
    lines = book.entries(key, kinds=("sheet",), limit=1)
    sheet = _source(lines[0], "sheet") if lines else None
    if sheet is None:
        raise InputError(f"machine {machine!r}", expected="a sheet in the book", found="none",
                         do="`tapewright sheet check SHEET --machine NAME` brings it in.")  # fmt: skip
    newest = book.newest_evidence(key).get("gauge")
    readings = None if newest is None else _source(newest, "readings")
    return SheetInBook(lines[0], sheet, readings, newest, str(lines[0].new.body.get("variant", "")))


def check_from_book(book: Book, files: SheetFiles, machine: str) -> SheetCheck:
    """Judge the newest readings against the sheet.

    Args:
        book: where they are.
        files: reads sheets and journals of the book by FINGERPRINT/NAME.
        machine: name or key.

    Raises:
        InputError: when the machine has no sheet, or readings that do not fit it any more.
    """
    there = sheet_in_book(book, machine)
    return check_sheet(files, there.sheet, there.readings, there.variant)


def _source(entry: Entry, role: str) -> str | None:
    sources = entry.new.body.get("sources", ())
    return next((f"{source['sha256']}/{source['name']}" for source in sources if source.get("role") == role), None)
