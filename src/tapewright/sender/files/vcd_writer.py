"""VCD (IEEE 1364-2001, clause 18; clause number from memory): one wire, changes only, in nanoseconds."""

from pathlib import Path

import numpy as np

from tapewright.sender.compose import Composed, Contents, Progress
from tapewright.sender.files.pieces import ROWS, edge_rows

WHAT = "VCD, one wire named line"
CONTENTS: tuple[Contents, ...] = ("edges",)
RATE_HZ = 1e6
HEADER = """$version Tapewright $end
$timescale 1 ns $end
$scope module tapewright $end
$var wire 1 ! line $end
$upscope $end
$enddefinitions $end
#0
$dumpvars
%d!
$end
"""


def write(path: Path, composed: Composed, progress: Progress) -> None:
    """Write the signal; the last time stamp says how long it goes on."""
    times, levels = edge_rows(composed)
    ticks = np.round(times * 1e9).astype(np.int64)
    with path.open("w", encoding="ascii", newline="\n") as file:
        file.write(HEADER % levels[0])
        for first in range(1, ticks.size - 1, ROWS):
            rows = slice(first, min(first + ROWS, ticks.size - 1))
            pairs = np.column_stack([ticks[rows], levels[rows]])
            file.write(("#%d\n%d!\n" * len(pairs)) % tuple(pairs.ravel().tolist()))
            progress(first / ticks.size)
        file.write(f"#{ticks[-1]}\n")
