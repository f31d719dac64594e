"""Work out the next move of the knobs."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tapewright.adapters.reports.trim_report import trim_json
from tapewright.adapters.sheet_files.files import SheetFilesOnDisk
from tapewright.adapters.sheet_files.trials import TrialFilesOnDisk
from tapewright.app.trim_machine import trim_machine
from tapewright.core.mechanism.trim.advice import Advice

document = trim_json


def measure(files: Mapping[str, Path], settings: Mapping[str, Any]) -> Advice:
    """Advise from "trials" of the files, with the limits of "sheet" when there is one.

    Raises:
        InputError: what cannot be read.
    """
    sheet = files.get("sheet")
    read = None if sheet is None else SheetFilesOnDisk().sheet(str(sheet), settings.get("variant", ""))
    return trim_machine(TrialFilesOnDisk(read), str(files["trials"]))
