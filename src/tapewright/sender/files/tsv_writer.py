"""TSV: a header and one row for each change, or for each sample."""

from pathlib import Path

from tapewright.sender.compose import Composed, Contents, Progress
from tapewright.sender.files.csv_writer import write_table

WHAT = "TSV, tabulator and decimal point"
CONTENTS: tuple[Contents, ...] = ("edges", "logic", "volts")
RATE_HZ = 1e6


def write(path: Path, composed: Composed, progress: Progress) -> None:
    """Write the signal."""
    write_table(path, composed, progress, "\t")
