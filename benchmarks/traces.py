"""How long the pictures of the bench take: a trace of 1e8 samples once and at each zoom, a tape's pictures.

    python benchmarks/traces.py

Limits, in processor time: building the pyramid at most 20 times one `max` over the same samples; a window, whatever its
length, at most 20 ms.
"""

import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from tapewright.bench.traces.sampled import take_samples
from tapewright.recordings.edges.clock import RegularClock

SAMPLES, COLUMNS, RATE_HZ = 100_000_000, 3840, 1e6
MOST_MAXIMA, MOST_WINDOW_S = 20.0, 0.020


class Drawn:
    """Samples as they lie in a file of two bytes each."""

    def __init__(self, samples: np.ndarray) -> None:
        """Take them."""
        self.samples, self.count = samples, samples.size

    def read(self, first: int, count: int) -> list[np.ndarray]:
        """Return some of them."""
        return [self.samples[first : first + count]]


def spent(work: object) -> float:
    """Return the processor time of one call."""
    before = time.process_time()
    work()  # type: ignore[operator]
    return time.process_time() - before


def main() -> int:
    """Print the figures; 1 when one is beyond its limit."""
    rng = np.random.default_rng(1)
    samples = np.repeat(rng.integers(-9000, 9000, SAMPLES // 10_000), 10_000).astype(np.int16)
    one_max = min(spent(samples.max) for _ in range(3))
    with tempfile.TemporaryDirectory() as folder:
        before = time.process_time()
        trace = take_samples(Drawn(samples), RegularClock(1 / RATE_HZ), Path(folder) / "samples", lambda _: None)
        built = time.process_time() - before
        whole = SAMPLES / RATE_HZ
        windows = {
            span: min(spent(lambda s=span: trace.window(whole / 3, whole / 3 + s, COLUMNS)) for _ in range(5))
            for span in (2 * whole, 10.0, 1.0, 0.1, 0.001)
        }
    held = trace.pyramid.size_bytes / 1e6
    print(f"pyramid of {SAMPLES:,} samples: {built:.2f} s, {built / one_max:.1f} maxima, {held:.0f} MB")
    for span, took in windows.items():
        print(f"window of {span:g} s in {COLUMNS} columns: {1e3 * took:.1f} ms")
    return int(built > MOST_MAXIMA * one_max or max(windows.values()) > MOST_WINDOW_S)


if __name__ == "__main__":
    sys.exit(main())
