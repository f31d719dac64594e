"""A sampled CSV: columns through the reader of tables, against polars' bare read of the same file. Limit: 2.5 times.

python benchmarks/tables_of_text.py           two million rows
python benchmarks/tables_of_text.py --full    twenty million rows (about 400 MB of disk)

Processor time, the least of three; the file is in memory from the start. Beside it numpy.loadtxt, which reads short
tables, and the most memory that was used.
"""

import importlib.util
import resource
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from tapewright.recordings.files.csv_dialect import find_dialect
from tapewright.recordings.files.csv_rows import rows_of

LIMIT = 2.5
ROWS_AT_ONCE = 500_000
SHAPES = {"volts": ("%.6f", "%.4f"), "logic": ("%.6f", "%d"), "exponents": ("%.6e", "%.4e")}


def write(path, rows, forms):
    rng = np.random.default_rng(0)
    row = f"{forms[0]},{forms[1]}".__mod__
    with path.open("w") as file:
        file.write("Time (s),CH1\n")
        for first in range(0, rows, ROWS_AT_ONCE):
            times = np.arange(first, min(rows, first + ROWS_AT_ONCE)) / 1e5
            line = (times / 0.022).astype(int) % 2
            levels = line if forms[1] == "%d" else line * 3.3 + rng.normal(0, 0.05, times.size)
            file.write("\n".join(map(row, zip(times.tolist(), levels.tolist(), strict=True))) + "\n")


def by_us(path):
    head = path.open("rb").read(65_536)
    return sum(rows.shape[0] for rows, _ in rows_of(path, find_dialect(head, whole=False)))


def by_polars(path):
    import polars

    schema = {"t": polars.Float64, "v": polars.Float64}
    return polars.read_csv(path, has_header=False, skip_rows=1, schema=schema).height


def by_numpy(path):
    return np.loadtxt(path, delimiter=",", skiprows=1, comments=None, max_rows=ROWS_AT_ONCE).shape[0]


def cost_s(job, path):
    """Return seconds of processor time a row."""
    costs = []
    for _ in range(3):
        begun = time.process_time()
        costs.append(1 / job(path) * (time.process_time() - begun))
    return min(costs)


def main(full):
    if importlib.util.find_spec("polars") is None:
        sys.exit("This benchmark needs polars: pip install 'tapewright[fast]'.")
    failed = False
    with tempfile.TemporaryDirectory() as folder:
        for name, forms in SHAPES.items():
            path = Path(folder) / f"{name}.csv"
            write(path, 20_000_000 if full else 2_000_000, forms)
            ours = cost_s(by_us, path)
            memory_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            bare, loadtxt = cost_s(by_polars, path), cost_s(by_numpy, path)
            failed |= ours > LIMIT * bare
            print(
                f"{name:10} {path.stat().st_size / 1e6:6.1f} MB  a million rows: {ours * 1e6:5.3f} s, polars bare "
                f"{bare * 1e6:5.3f} s, loadtxt {loadtxt * 1e6:5.3f} s; {ours / bare:4.2f} x (limit {LIMIT}), "
                f"{memory_mb:.0f} MB"
            )
            path.unlink()
    return int(failed)


if __name__ == "__main__":
    sys.exit(main("--full" in sys.argv))
