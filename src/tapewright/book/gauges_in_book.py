"""Sheets and journals that lie in the book, named FINGERPRINT/NAME.

A machine's sheet and its newest readings, from the book.
"""

import hashlib
from dataclasses import dataclass

from tapewright.book.entry import Entry
from tapewright.book.keep_result import RawFile, Result, Taken, keep_result, sheet_line
from tapewright.book.ports import Book
from tapewright.book.standing import standing
from tapewright.errors import InputError, WrongUseError
from tapewright.gauges.checking import SheetCheck, check
from tapewright.gauges.files.journal_file import journal_toml, read_journal
from tapewright.gauges.files.sheet_file import read_sheet
from tapewright.gauges.journal import Entry as Change
from tapewright.gauges.journal import Journal
from tapewright.gauges.measure import document as sheet_document
from tapewright.gauges.requirement import Sheet, is_named


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
        raise InputError(
            f"machine {machine!r}",
            expected="a sheet in the book",
            found="none",
            do="`tapewright sheet check SHEET --machine NAME` brings it in.",
        )
    newest = book.newest_evidence(key).get("gauge")
    readings = None if newest is None else _source(newest, "readings")
    return SheetInBook(lines[0], sheet, readings, newest, str(lines[0].new.body.get("variant", "")))


def bring_first_sheet(book: Book, machine: str, sheet: RawFile, variant: str, by: str) -> None:
    """Make this the machine's sheet when it has none; its readings stay with the sheet they were taken for.

    Raises:
        WrongUseError: when the machine has another.
    """
    line = sheet_line(book, machine, sheet, variant, by)
    if line is None:
        return
    if book.entries(line.machine, kinds=("sheet",), limit=1):
        raise WrongUseError(
            f"{sheet.name}: the book has another sheet of this machine. Leave SHEET out to use "
            "that one, or bring it in: `tapewright sheet check SHEET --machine NAME`."
        )
    book.write([line], {} if sheet.source is None else {sheet.sha256: sheet.source})


def check_from_book(book: Book, files: "SheetFilesInBook", machine: str) -> SheetCheck:
    """Judge the newest readings against the sheet.

    Args:
        book: where they are.
        files: reads sheets and journals of the book by FINGERPRINT/NAME.
        machine: name or key.

    Raises:
        InputError: when the machine has no sheet, or readings that do not fit it any more.
    """
    there = sheet_in_book(book, machine)
    sheet = files.sheet(there.sheet, there.variant)
    return check(sheet, files.journal(there.readings, sheet) if there.readings else ())


def _source(entry: Entry, role: str) -> str | None:
    sources = entry.new.body.get("sources", ())
    return next((f"{source['sha256']}/{source['name']}" for source in sources if source.get("role") == role), None)


class SheetFilesInBook:
    """Reads sheets and journals of one book."""

    def __init__(self, book: Book) -> None:
        self._book = book

    def sheet(self, name: str, variant: str) -> Sheet:
        """Read a sheet."""
        return read_sheet(_bare(name), self._bytes(name), variant)

    def journal(self, name: str, sheet: Sheet) -> Journal:
        """Read a journal."""
        return read_journal(_bare(name), self._bytes(name), sheet)

    def _bytes(self, name: str) -> bytes:
        with self._book.raw(name.partition("/")[0]) as stream:
            return stream.read()


def add_readings(book: Book, machine: str, readings: Journal, taken: Taken) -> Entry:
    """Add readings to a machine's newest journal, check the sheet, and write it all as evidence.

    The line rests on the gauge evidence before it. An adjustment that was written into the book since, and that names a
    requirement, goes into the journal first: what was read before it no longer counts together with what is read after.

    Args:
        book: where it goes.
        machine: name or key.
        readings: further readings and changes.
        taken: how and when they were taken.

    Raises:
        InputError: when the machine has no sheet, or the readings do not fit it; nothing is written then.
    """
    there, files = sheet_in_book(book, machine), SheetFilesInBook(book)
    sheet = files.sheet(there.sheet, there.variant)
    before = files.journal(there.readings, sheet) if there.readings else ()
    since = _changed(book, machine, sheet, there.evidence.number) if there.evidence else ()
    journal = journal_toml((*before, *since, *readings)).encode()
    document = sheet_document(check(sheet, read_journal("readings.toml", journal, sheet)))
    raw = [
        RawFile("sheet", _bare(there.sheet), there.sheet.partition("/")[0]),
        RawFile("readings", "readings.toml", hashlib.sha256(journal).hexdigest(), journal),
    ]
    rests_on = (there.evidence.key,) if there.evidence else ()
    return keep_result(book, machine, Result(document, "sheet check", {"variant": there.variant}, raw, taken, rests_on))


def _changed(book: Book, machine: str, sheet: Sheet, after: int) -> Journal:
    """Return the adjustments written after a line as changes of the requirements they name."""
    lines = standing(book.entries(book.machine(machine).key, kinds=("adjustment",)))
    return tuple(
        Change(r.id, changed=f"{line.new.body['what']} (line {line.number} of the book)")
        for line in lines
        if line.number > after
        for r in sheet.requirements
        if is_named(line.new.body["what"], r.id, r.what)
    )


def _bare(name: str) -> str:
    return name.partition("/")[2]
