"""NPY: the samples as one numpy array. It does not hold the rate: keep it with the file."""

from pathlib import Path

from tapewright.adapters.capture_writers.arrays import write_array
from tapewright.app.compose_signal import Composed, Contents, Progress

WHAT = "NPY array of samples; reading it needs --rate"
CONTENTS: tuple[Contents, ...] = ("logic", "volts")
RATE_HZ = 1e5


def write(path: Path, composed: Composed, progress: Progress) -> None:
    """Write the signal."""
    with path.open("wb") as file:
        write_array(file, composed, progress)
