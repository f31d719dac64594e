"""Trials files on disk."""

from pathlib import Path

from tapewright.adapters.sheet_files.trials_file import read_trials
from tapewright.core.mechanism.requirement import Sheet
from tapewright.core.mechanism.trim.problem import Problem


class TrialFilesOnDisk:
    """Read by file name, with the limits of a sheet where one is given."""

    def __init__(self, sheet: Sheet | None = None) -> None:
        self._sheet = sheet

    def trials(self, name: str) -> Problem:
        """Read a trials file."""
        return read_trials(name, Path(name).read_bytes(), self._sheet)
