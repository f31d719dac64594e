"""A few seconds of the liveliest part of a channel, thinned where it was sampled faster than needed."""

from typing import Any

import numpy as np
import numpy.typing as npt

from tapewright.core.line.edges.blocks import Extremes
from tapewright.core.line.edges.lively import Readable, liveliest_stretch

#: seconds looked at, before them a bit of idle, and the rate that is kept
STRETCH_S, BEFORE_S, KEPT_HZ = 12.0, 0.3, 44_000.0
MOST_SAMPLES = 24_000_000
PIECE = 1 << 20


def lively_stretch(reader: Readable, channel: int, kept: Extremes, interval_s: float) -> tuple[npt.NDArray[Any], int]:
    """Give the samples, shape (n,), and how many samples of the recording each is the mean of."""
    wanted = round(min(STRETCH_S / interval_s, MOST_SAMPLES)) if interval_s > 0 else MOST_SAMPLES
    begin = max(0, liveliest_stretch(kept, wanted) - round(wanted * BEFORE_S / STRETCH_S))
    end = min(reader.count, begin + wanted)
    step = max(1, int(min(1e6, 1 / (interval_s * KEPT_HZ)))) if interval_s > 0 else 1
    parts = []
    piece = max(step, PIECE // step * step)
    for first in range(begin, end, piece):
        samples = reader.read(first, min(piece, end - first))[channel]
        if step > 1:
            with np.errstate(over="ignore", invalid="ignore"):
                samples = samples[: samples.size // step * step].reshape(-1, step).mean(axis=1)
        parts.append(samples)
    return (np.concatenate(parts) if parts else np.empty(0)), step
