"""Sheets and journals on disk; the sheets of the invented machines come with the package."""

from importlib import resources
from pathlib import Path

from tapewright.adapters.sheet_files.readings_file import read_journal
from tapewright.adapters.sheet_files.sheet_file import read_sheet
from tapewright.core.mechanism.journal import Journal
from tapewright.core.mechanism.requirement import Sheet

#: sheets in the package; a file of that name on disk goes first
BUILT_IN = ("heron", "petrel", "template")


class SheetFilesOnDisk:
    """Read by file name, or a built-in sheet by its bare name."""

    def sheet(self, name: str, variant: str) -> Sheet:
        """Read a sheet."""
        return read_sheet(name, sheet_bytes(name), variant)

    def journal(self, name: str, sheet: Sheet) -> Journal:
        """Read a journal."""
        return read_journal(name, Path(name).read_bytes(), sheet)


def sheet_bytes(name: str) -> bytes:
    """Give the content of a sheet file, or of a built-in sheet when no such file is there."""
    if name in BUILT_IN and not Path(name).exists():
        return (resources.files(__package__) / "sheets" / f"{name}.toml").read_bytes()
    return Path(name).read_bytes()
