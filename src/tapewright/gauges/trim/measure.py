"""Work out the next move of the knobs.

Recommend the next move of the knobs from the trials so far.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Protocol

from tapewright.gauges.files.on_disk import SheetFilesOnDisk
from tapewright.gauges.files.trials_writer import TrialFilesOnDisk
from tapewright.gauges.trim.advice import Advice, advise
from tapewright.gauges.trim.problem import Problem
from tapewright.gauges.trim.report import trim_json


class TrialFiles(Protocol):
    """Where trials come from."""

    def trials(self, name: str) -> Problem:
        """Read the trials file of that name."""
        ...


def trim_machine(files: TrialFiles, name: str) -> Advice:
    """Read the trials; give the advice."""
    return advise(files.trials(name))


document = trim_json


def measure(files: Mapping[str, Path], settings: Mapping[str, Any]) -> Advice:
    """Advise from "trials" of the files, with the limits of "sheet" when there is one.

    Raises:
        InputError: what cannot be read.
    """
    sheet = files.get("sheet")
    read = None if sheet is None else SheetFilesOnDisk().sheet(str(sheet), settings.get("variant", ""))
    return trim_machine(TrialFilesOnDisk(read), str(files["trials"]))
