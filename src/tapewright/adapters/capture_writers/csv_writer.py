"""CSV: a header and one row for each change, or for each sample."""

from pathlib import Path

from tapewright.adapters.capture_writers.tables import write_table
from tapewright.app.compose_signal import Composed, Contents, Progress

WHAT = "CSV, comma and decimal point"
CONTENTS: tuple[Contents, ...] = ("edges", "logic", "volts")
RATE_HZ = 1e6


def write(path: Path, composed: Composed, progress: Progress) -> None:
    """Write the signal."""
    write_table(path, composed, progress, ",")
