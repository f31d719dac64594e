"""Search 10,000 drives with real text on one core: seconds against the limit of 2 s.

    python benchmarks/drive.py
"""

import os

os.environ.update(dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1"))

import time

import numpy as np

from tapewright.alphabets import ITA2, encode
from tapewright.coil.drive.choice import usual_suppressors
from tapewright.coil.drive.drive import Coil, Drive, Supply
from tapewright.coil.drive.search import Wish, search

LIMIT_S = 2.0
TEXT = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 1234567890"


def measure() -> tuple[float, int]:
    """Return the processor seconds of one search (the best of three) and the number of drives."""
    drive = Drive(Coil(66, 1.7, 0.024, 0.012), Supply(120))
    parts = usual_suppressors(drive)[:100]
    resistors = np.geomspace(200, 3000, -(-10_000 // len(parts)))
    codes = encode(TEXT, ITA2)
    took = []
    for _ in range(3):
        started = time.process_time()
        found = search(drive, resistors, parts, Wish(5, 300, 1.5), codes, unit_s=0.022, stop_units=1.5)
        took.append(time.process_time() - started)
    return min(took), found.series_ohm.size


if __name__ == "__main__":
    seconds, drives = measure()
    print(f"drive search: {drives} drives in {seconds:.2f} s, {seconds / LIMIT_S:.2f} of the limit of {LIMIT_S:g} s")
