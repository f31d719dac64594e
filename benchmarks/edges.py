"""Edges from 8-bit samples: time against one numpy.max over the same array, in the same run. Limit: 4 times.

python benchmarks/edges.py           200 million samples
python benchmarks/edges.py --full    1000 million samples (1 GB of memory)
"""

import sys
import time

import numpy as np

from tapewright.recordings.edges.analogue import EdgeStream
from tapewright.recordings.edges.blocks import Thresholds
from tapewright.recordings.edges.extract import resolve, survey

LIMIT = 4.0
ROUNDS = 7


def telegraph(count, samples_a_unit=22_000):
    """A line that changes about every other unit, 1 MS/s at 45.45 baud, with one burst of bounce in twenty."""
    rng = np.random.default_rng(0)
    samples = np.zeros(count, np.uint8)
    for begin in range(0, count - 2 * samples_a_unit, 2 * samples_a_unit):
        samples[begin : begin + int(rng.integers(1, 3)) * samples_a_unit] = 200
        if rng.random() < 0.05:
            samples[begin + 300 : begin + 400] = 0
    return samples


class Held:
    channels = 1

    def __init__(self, samples):
        self.samples, self.count = samples, samples.size

    def read(self, first, count):
        return [self.samples[first : first + count]]


def timed(job):
    started = time.perf_counter()
    job()
    return time.perf_counter() - started


def analogue(samples):
    return EdgeStream(Thresholds(80.0, 100.0, 120.0), swing=200.0, noise=0.0).feed(samples)


def two_passes(samples):
    """As for a file: the extremes once, then only the blocks that can hold an edge."""
    reader = Held(samples)
    (kept, _), *_ = survey(reader, lambda fraction: None)
    stream = EdgeStream(Thresholds(80.0, 100.0, 120.0), swing=200.0, noise=0.0)
    return resolve(reader, 0, kept, stream, lambda fraction: None)


def main(full):
    samples = telegraph(1_000_000_000 if full else 200_000_000)
    jobs = {"analogue": analogue, "two passes": two_passes}
    once, took = [], {name: [] for name in jobs}
    for _ in range(ROUNDS):  # in turn, so that a busy machine is unfair to none
        once.append(timed(samples.max))
        for name, job in jobs.items():
            took[name].append(timed(lambda job=job: job(samples)))
    print(f"{samples.size:,} samples; one numpy.max: {min(once) * 1e3:.1f} ms; limit {LIMIT} times that; edges last")
    for name, job in jobs.items():
        print(
            f"{name:12} {min(took[name]) * 1e3:8.1f} ms  {min(took[name]) / min(once):5.2f} x  {job(samples).at.size}"
        )


if __name__ == "__main__":
    main("--full" in sys.argv)
