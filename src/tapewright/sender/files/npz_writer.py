"""NPZ: the samples and their rate as two arrays, `samples` and `rate_hz`, compressed."""

import io
import zipfile
from pathlib import Path

import numpy as np

from tapewright.sender.compose import Composed, Contents, Progress
from tapewright.sender.files.npy_writer import write_array

WHAT = "NPZ with the arrays samples and rate_hz"
CONTENTS: tuple[Contents, ...] = ("logic", "volts")
RATE_HZ = 1e5


def write(path: Path, composed: Composed, progress: Progress) -> None:
    """Write the signal."""
    rate = io.BytesIO()
    np.save(rate, np.array(composed.instrument.rate_hz))
    with zipfile.ZipFile(path, "w", compression=zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        archive.writestr(zipfile.ZipInfo("rate_hz.npy"), rate.getvalue())
        # a fixed date: the same signal is the same file
        with archive.open(_dated("samples.npy"), "w", force_zip64=True) as file:
            write_array(file, composed, progress)


def _dated(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name)
    entry.compress_type = zipfile.ZIP_DEFLATED
    return entry
