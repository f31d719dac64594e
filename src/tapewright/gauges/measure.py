"""Check a machine's sheet against what was measured: verdicts, order, next step, rechecks."""

from collections.abc import Mapping
from pathlib import Path

from tapewright.furniture.document import to_builtins
from tapewright.furniture.settings import from_steps
from tapewright.gauges.checking import SheetCheck, check
from tapewright.gauges.document import sheet_document
from tapewright.gauges.files.journal_file import read_journal
from tapewright.gauges.files.on_disk import sheet_bytes
from tapewright.gauges.files.sheet_file import read_sheet
from tapewright.gauges.requirement import Sheet
from tapewright.gauges.settings import SheetSettings


def sheet_named(name: str, variant: str = "") -> Sheet:
    """Read a sheet from a file, or one of the program's own by its bare name."""
    return read_sheet(name, sheet_bytes(name), variant)


def measure(files: Mapping[str, Path], settings: SheetSettings | Mapping[str, object]) -> SheetCheck:
    """Check "readings" of the files, when there are some, against "sheet"; a bare built-in name is a sheet too.

    Raises:
        InputError: what cannot be read.
    """
    chosen = settings if isinstance(settings, SheetSettings) else from_steps(SheetSettings, settings)
    sheet, readings = sheet_named(str(files["sheet"]), chosen.variant), files.get("readings")
    return check(sheet, read_journal(str(readings), readings.read_bytes(), sheet) if readings else ())


def document(result: SheetCheck) -> dict[str, object]:
    """Return the document as dictionaries, as the book keeps it."""
    content: dict[str, object] = to_builtins(sheet_document(result))
    return content
