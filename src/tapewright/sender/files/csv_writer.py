r"""CSV: a header and one row for each change, or for each sample.

Rows of text: what CSV and TSV share.

Picture (changes only; the first row says how it begins, the last one how long it goes on):

    time_s,level        time_s,volts
    0.000000000,1       0.0000000,5.0000
    0.300000000,0       0.0000227,5.0000
    0.344000000,1       ...
    ...
"""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import numpy.typing as npt

from tapewright.sender.compose import Composed, Contents, Progress
from tapewright.sender.files.pieces import ROWS, edge_rows, sample_pieces


def write_table(path: Path, composed: Composed, progress: Progress, separator: str) -> None:
    """Write a header and one row for each change or sample."""
    value, form = ("volts", "%.5f") if composed.contents == "volts" else ("level", "%d")
    digits = 9 if composed.contents == "edges" else _digits_for(composed.instrument.rate_hz)
    row = f"%.{digits}f{separator}{form}\n"
    with path.open("w", encoding="ascii", newline="") as file:
        file.write(f"time_s{separator}{value}\n")
        for times_s, values in _rows(composed, progress):
            pairs = np.column_stack([times_s, values]).ravel().tolist()
            file.write((row * times_s.size) % tuple(pairs))


def _rows(composed: Composed, progress: Progress) -> Iterator[tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]]:
    if composed.contents == "edges":
        times, levels = edge_rows(composed)
        for begin in range(0, times.size, ROWS):
            yield times[begin : begin + ROWS], levels[begin : begin + ROWS].astype(float)
            progress(begin / times.size)
        return
    first = 0
    for values in sample_pieces(composed, progress):
        yield (first + np.arange(values.size)) / composed.instrument.rate_hz, values.astype(float)
        first += values.size


def _digits_for(rate_hz: float) -> int:
    """Decimals that place a sample to a thousandth of its interval."""
    return int(np.clip(np.ceil(np.log10(rate_hz)) + 3, 6, 12))


WHAT = "CSV, comma and decimal point"
CONTENTS: tuple[Contents, ...] = ("edges", "logic", "volts")
RATE_HZ = 1e6


def write(path: Path, composed: Composed, progress: Progress) -> None:
    """Write the signal."""
    write_table(path, composed, progress, ",")
