"""The whole of `line read` from a file of 8-bit samples, against one numpy.max over the same. Limit: 5 times.

python benchmarks/line.py           100 million samples
python benchmarks/line.py --full    1000 million samples (1 GB on disk, 1 GB of memory for the reference)

Printed apart: finding the edges, measuring, and the fingerprint (SHA-256), which runs beside the other two.
"""

import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from tapewright.terminal.signals import capture_files

from tapewright.alphabets import ITA2
from tapewright.line.document import LineSettings
from tapewright.line.measure import measure_line
from tapewright.line.read import HowToRead, read_line
from tapewright.practice.machines import PETREL
from tapewright.practice.transmitter import send
from tapewright.recordings.files.on_disk import sha256
from tapewright.recordings.files.read import read_recordings

LIMIT, RATE_HZ = 5.0, 1_000_000


def main() -> int:
    count = 1_000_000_000 if "--full" in sys.argv else 100_000_000
    generator = np.random.default_rng(0)
    codes = [format(code, "05b") for code in generator.integers(0, 32, int(count / RATE_HZ / 0.165))]
    line = send(codes, PETREL, generator).line
    samples = np.full(count, 200, np.uint8)
    places = np.minimum(np.ceil(line.times_s * RATE_HZ).astype(int), count)
    for begin, end, mark in zip(places[:-1], places[1:], line.mark_after[:-1], strict=True):
        samples[begin:end] = 200 if mark else 0
    reference = min(timed(samples.max) for _ in range(3))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "line.npy"
        np.save(path, samples)
        del samples
        settings = LineSettings(ITA2)


        def whole(fingerprint):
            return lambda: read_line(path, HowToRead(rate_hz=RATE_HZ), settings, files=capture_files(),
                                     progress=lambda _: None, fingerprint=fingerprint)  # fmt: skip

        plain, marked = (min(timed(whole(with_it)) for _ in range(3)) for with_it in (False, True))
        edges = min(timed(lambda: read_recordings(path, rate_hz=RATE_HZ)) for _ in range(3))
        found = read_recordings(path, rate_hz=RATE_HZ)[0].edges
        measured = min(timed(lambda: measure_line(found, settings)) for _ in range(3))
        fingerprint = timed(lambda: sha256(path))
    print(f"{count:,} samples, {len(codes):,} characters; one numpy.max {1e3 * reference:.0f} ms")
    for what, took in (("edges, from the file", edges), ("measuring", measured), ("fingerprint", fingerprint)):
        print(f"  {what:<22}{1e3 * took:6.0f} ms   {took / reference:5.1f} times")
    print(f"  {'whole line read':<22}{1e3 * plain:6.0f} ms   {plain / reference:5.1f} times   limit {LIMIT:g}")
    print(f"  {'with fingerprint':<22}{1e3 * marked:6.0f} ms   {marked / reference:5.1f} times")
    return 0


def timed(work) -> float:
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


if __name__ == "__main__":
    sys.exit(main())
