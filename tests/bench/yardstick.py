"""How quick this machine is at this moment: a fixed piece of work of the sort the bench does, in processor time.

Costs held against it are the same on a slow and on a busy machine, within some tens of per cent: both share the fate of
the processor. A cost that doubles does not hide in that. What a quiet machine takes by the clock, in seconds and beside
its floor, benchmarks/bench_floors.py prints.
"""

import json
import time
from collections.abc import Callable

import numpy as np

DOCUMENTS, PASSES, SAMPLES = 40, 6, 8_000_000


def spent_s(work: Callable[[], object]) -> float:
    """Return the processor time of one call, of this process with all its threads."""
    began = time.process_time()
    work()
    return time.process_time() - began


def in_yardsticks(*works: Callable[[], object], rounds: int = 3) -> list[float]:
    """Return the least cost of each work against the least of the fixed one, all taken in turns."""
    samples = np.arange(SAMPLES, dtype=np.uint8)
    took = [[spent_s(work) for work in (lambda: _fixed(samples), *works)] for _ in range(rounds)]
    fixed, *costs = (min(column) for column in zip(*took, strict=True))
    return [cost / fixed for cost in costs]


def _fixed(samples: np.ndarray) -> None:
    for n in range(DOCUMENTS):
        rows = [{"name": f"element {k}", "late_ms": k * 0.25, "of": str(n)} for k in range(400)]
        json.loads(json.dumps(sorted(rows, key=lambda row: -row["late_ms"])))
    for _ in range(PASSES):
        np.abs(np.diff(samples.view(np.int8)) > 3).sum()
