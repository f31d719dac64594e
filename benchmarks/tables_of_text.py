"""A sampled CSV: reading it whole, edges found, against numpy.loadtxt streamed over the same file. Limit: 1 time.

python benchmarks/tables_of_text.py           half a million rows
python benchmarks/tables_of_text.py --full    twenty million rows (about 400 MB of disk)
"""

import sys
import tempfile
import time
import warnings
from pathlib import Path

import numpy as np

from tapewright.recordings.files.read import read_recordings

LIMIT = 1.0
ROWS_AT_ONCE = 500_000
SHAPES = {"volts": ("%.6f", "%.4f"), "logic": ("%.6f", "%d"), "exponents": ("%.6e", "%.4e")}


def write(path, rows, forms):
    rng = np.random.default_rng(0)
    with path.open("w") as file:
        file.write("Time (s),CH1\n")
        for first in range(0, rows, ROWS_AT_ONCE):
            times = np.arange(first, min(rows, first + ROWS_AT_ONCE)) / 1e5
            line = (times / 0.022).astype(int) % 2
            levels = line if forms[1] == "%d" else line * 3.3 + rng.normal(0, 0.05, times.size)
            np.savetxt(file, np.column_stack([times, levels]), fmt=forms, delimiter=",")


def by_loadtxt(path):
    with path.open() as file, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it says so when nothing is left
        file.readline()
        while np.loadtxt(file, delimiter=",", max_rows=ROWS_AT_ONCE, ndmin=2, comments=None).size:
            pass


def timed(job):
    started = time.perf_counter()
    job()
    return time.perf_counter() - started


def main(full):
    rows = 20_000_000 if full else 500_000
    with tempfile.TemporaryDirectory() as folder:
        for name, forms in SHAPES.items():
            path = Path(folder) / f"{name}.bin"
            write(path, rows, forms)
            loadtxt = min(timed(lambda path=path: by_loadtxt(path)) for _ in range(3))
            whole = min(timed(lambda path=path: read_recordings(path)) for _ in range(3))
            size = path.stat().st_size / 1e6
            print(
                f"{name:10} {size:7.1f} MB  loadtxt {size / loadtxt:5.0f} MB/s whole {size / whole:5.0f} MB/s  "
                f"{whole / loadtxt:4.2f} x (limit {LIMIT})"
            )
            path.unlink()


if __name__ == "__main__":
    main("--full" in sys.argv)
