"""Sheets and journals on disk; the sheets of the invented machines come with the package."""

from importlib import resources
from pathlib import Path

from tapewright.gauges.files.readings_file import read_journal
from tapewright.gauges.files.sheet_file import read_sheet
from tapewright.gauges.journal import Journal
from tapewright.gauges.requirement import Sheet

#: sheets in the package; a file of that name on disk goes first
BUILT_IN = ("heron", "petrel", "template")
#: files in the package that one can begin from
TO_BEGIN_FROM = (*BUILT_IN, "trials")


class SheetFilesOnDisk:
    """Read by file name, or a built-in sheet by its bare name."""

    def sheet(self, name: str, variant: str) -> Sheet:
        """Read a sheet."""
        return read_sheet(name, sheet_bytes(name), variant)

    def journal(self, name: str, sheet: Sheet) -> Journal:
        """Read a journal."""
        return read_journal(name, Path(name).read_bytes(), sheet)


def sheet_bytes(name: str) -> bytes:
    """Return the content of a sheet file, or of a built-in sheet when no such file is there."""
    if name in BUILT_IN and not Path(name).exists():
        return built_in_bytes(name)
    return Path(name).read_bytes()


def built_in_bytes(name: str) -> bytes:
    """Return the content of one of `TO_BEGIN_FROM`."""
    return (resources.files(__package__) / "sheets" / f"{name}.toml").read_bytes()
