"""Judge gauge readings against a sheet.

Check a machine's sheet against what was measured: verdicts, order, next step, rechecks.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Protocol

from tapewright.gauges.document import SheetCheck, check
from tapewright.gauges.files.on_disk import SheetFilesOnDisk
from tapewright.gauges.journal import Journal
from tapewright.gauges.requirement import Sheet
from tapewright.gauges.text import sheet_json


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


document = sheet_json


def measure(files: Mapping[str, Path], settings: Mapping[str, Any]) -> SheetCheck:
    """Check "readings" of the files, when there are some, against "sheet"; a bare built-in name is a sheet too.

    Raises:
        InputError: what cannot be read.
    """
    readings = files.get("readings")
    name = None if readings is None else str(readings)
    return check_sheet(SheetFilesOnDisk(), str(files["sheet"]), name, settings.get("variant", ""))
