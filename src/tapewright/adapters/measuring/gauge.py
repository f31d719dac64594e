"""Judge gauge readings against a sheet."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tapewright.adapters.reports.sheet_report import sheet_json
from tapewright.adapters.sheet_files.files import SheetFilesOnDisk
from tapewright.app.check_sheet import check_sheet
from tapewright.core.mechanism.checking import SheetCheck

document = sheet_json


def measure(files: Mapping[str, Path], settings: Mapping[str, Any]) -> SheetCheck:
    """Check "readings" of the files, when there are some, against "sheet"; a bare built-in name is a sheet too.

    Raises:
        InputError: what cannot be read.
    """
    readings = files.get("readings")
    name = None if readings is None else str(readings)
    return check_sheet(SheetFilesOnDisk(), str(files["sheet"]), name, settings.get("variant", ""))
