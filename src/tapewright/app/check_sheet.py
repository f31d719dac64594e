"""Check a machine's sheet against what was measured: verdicts, order, next step, rechecks."""

from typing import Protocol

from tapewright.core.mechanism.checking import SheetCheck, check
from tapewright.core.mechanism.journal import Journal
from tapewright.core.mechanism.requirement import Sheet


class SheetFiles(Protocol):
    """Where sheets and journals come from."""

    def sheet(self, name: str, variant: str) -> Sheet:
        """Read the sheet of that name for one variant."""
        ...

    def journal(self, name: str, sheet: Sheet) -> Journal:
        """Read the journal of that name."""
        ...


def check_sheet(files: SheetFiles, name: str, readings: str | None, variant: str = "") -> SheetCheck:
    """Read a sheet and, when there is one, its journal; give every answer."""
    sheet = files.sheet(name, variant)
    journal = files.journal(readings, sheet) if readings else ()
    return check(sheet, journal)
