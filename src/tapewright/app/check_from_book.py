"""A machine's sheet and its newest readings, from the book."""

from dataclasses import dataclass

from tapewright.app.check_sheet import SheetFiles, check_sheet
from tapewright.app.keep_result import sheet_line
from tapewright.app.ports import Book
from tapewright.app.record_evidence import RawFile
from tapewright.core.book.entry import Entry
from tapewright.core.mechanism.checking import SheetCheck
from tapewright.errors import InputError, WrongUseError


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


def bring_first_sheet(book: Book, machine: str, sheet: RawFile, variant: str, by: str) -> None:
    """Make this the machine's sheet when it has none; its readings stay with the sheet they were taken for.

    Raises:
        WrongUseError: when the machine has another.
    """
    line = sheet_line(book, machine, sheet, {"settings": {"variant": variant}}, by)
    if line is None:
        return
    if book.entries(line.machine, kinds=("sheet",), limit=1):
        raise WrongUseError(f"{sheet.name}: the book has another sheet of this machine. Leave SHEET out to use "
                            "that one, or bring it in: `tapewright sheet check SHEET --machine NAME`.")  # fmt: skip
    book.write([line], {} if sheet.source is None else {sheet.sha256: sheet.source})


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
