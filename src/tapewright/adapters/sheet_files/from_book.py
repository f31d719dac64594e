"""Sheets and journals that lie in the book, named FINGERPRINT/NAME."""

import hashlib

from tapewright.adapters.reports.sheet_report import sheet_json
from tapewright.adapters.sheet_files.journal_writer import journal_toml
from tapewright.adapters.sheet_files.readings_file import read_journal
from tapewright.adapters.sheet_files.sheet_file import read_sheet
from tapewright.app.check_from_book import sheet_in_book
from tapewright.app.keep_result import keep_result
from tapewright.app.ports import Book
from tapewright.app.record_evidence import RawFile, Taken
from tapewright.core.book.entry import Entry
from tapewright.core.book.standing import standing
from tapewright.core.mechanism.checking import check
from tapewright.core.mechanism.journal import Entry as Change
from tapewright.core.mechanism.journal import Journal
from tapewright.core.mechanism.named import is_named
from tapewright.core.mechanism.requirement import Sheet


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
    document = sheet_json(check(sheet, read_journal("readings.toml", journal, sheet)))
    raw = [
        RawFile("sheet", _bare(there.sheet), there.sheet.partition("/")[0]),
        RawFile("readings", "readings.toml", hashlib.sha256(journal).hexdigest(), journal),
    ]
    steps = {"command": "sheet check", "settings": {"variant": there.variant}}
    rests_on = [there.evidence.key] if there.evidence else []
    return keep_result(book, machine, document, raw, steps, taken, rests_on=rests_on)


def _changed(book: Book, machine: str, sheet: Sheet, after: int) -> Journal:
    """Give the adjustments written after a line as changes of the requirements they name."""
    lines = standing(book.entries(book.machine(machine).key, kinds=("adjustment",)))
    return tuple(
        Change(r.id, changed=f"{line.new.body['what']} (line {line.number} of the book)")
        for line in lines if line.number > after
        for r in sheet.requirements if is_named(line.new.body["what"], r.id, r.what)
    )  # fmt: skip


def _bare(name: str) -> str:
    return name.partition("/")[2]
