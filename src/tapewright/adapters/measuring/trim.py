"""Work out the next move of the knobs."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tapewright.adapters.reports.trim_report import trim_json
from tapewright.adapters.sheet_files.trials import TrialFilesOnDisk
from tapewright.app.trim_machine import trim_machine
from tapewright.core.mechanism.trim.advice import Advice

document = trim_json


def measure(files: Mapping[str, Path], _: Mapping[str, Any]) -> Advice:
    """Advise from "trials" of the files.

    Raises:
        InputError: what cannot be read.
    """
    return trim_machine(TrialFilesOnDisk(), str(files["trials"]))
