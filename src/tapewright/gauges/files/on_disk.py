"""Sheets on disk; those of the invented machines come with the package."""

from importlib import resources
from pathlib import Path

#: sheets in the package; a file of that name on disk goes first
BUILT_IN = ("heron", "petrel", "template")
#: files in the package that one can begin from
TO_BEGIN_FROM = (*BUILT_IN, "trials", "table")


def sheet_bytes(name: str) -> bytes:
    """Return the content of a sheet file, or of a built-in sheet when no such file is there."""
    if name in BUILT_IN and not Path(name).exists():
        return built_in_bytes(name)
    return Path(name).read_bytes()


def built_in_bytes(name: str) -> bytes:
    """Return the content of one of `TO_BEGIN_FROM`."""
    return (
        resources.files(__package__) / "sheets" / (f"{name}.csv" if name == "table" else f"{name}.toml")
    ).read_bytes()
