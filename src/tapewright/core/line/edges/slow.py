r"""Slow edges: does the bias follow the threshold?

Picture: a line loaded by a cable or a filter capacitor, crossed at 30, 50 and 70 % of the swing

    high           ____------.
    70 %  - - - -x-           \
    50 %  - - -x               x
    30 %  - -x                   `x
    low   ___/                     `-----
            |--|              |---|
             rise              fall          highs are longer at 30 % by rise + fall than at 70 %

When they are, the bias that is read depends on where the receiver of the real line has its own threshold.
"""

from typing import Any

import numpy as np
import numpy.typing as npt

from tapewright.core.line.capture import Suspicion
from tapewright.core.line.edges.analogue import EdgeStream, Instants
from tapewright.core.line.edges.blocks import Thresholds

#: a change of the length of highs worth a word: half a per cent of a 22 ms unit (owner's choice)
WORTH_A_WORD_S = 0.0001
#: between two samples the straight line makes even a sudden edge look this slow
SAMPLES_TO_TELL = 3.0
FEWEST_EDGES = 6


def slow_edges(samples: npt.NDArray[Any], low: float, high: float, noise: float, interval_s: float) -> Suspicion | None:
    """Compare the instants at 30 and 70 % of the swing in some seconds of lively samples, shape (n,)."""
    at = {part: _instants(samples, low, high, noise, part) for part in (0.3, 0.7)}
    rise, fall = _between(at[0.3], at[0.7], up=True), _between(at[0.7], at[0.3], up=False)
    if rise is None or fall is None:
        return None
    longer_s = (rise + fall) * interval_s
    if longer_s < max(WORTH_A_WORD_S, SAMPLES_TO_TELL * interval_s):
        return None
    return Suspicion(
        "slow edges",
        f"highs measure {longer_s * 1e3:.2f} ms longer with the threshold at 30 % of the swing than at 70 % "
        f"(rise {rise * interval_s * 1e3:.2f} ms, fall {fall * interval_s * 1e3:.2f} ms)",
        "The bias follows the threshold: take filter and long cable away, or set --threshold to the real receiver's.",
    )


def _instants(samples: npt.NDArray[Any], low: float, high: float, noise: float, part: float) -> Instants:
    swing = high - low
    middle = low + part * swing
    half = min(0.2 * swing, max(0.1 * swing, 4 * noise))
    return EdgeStream(Thresholds(middle - half, middle, middle + half), swing=swing, noise=noise).feed(samples)


def _between(before: Instants, after: Instants, *, up: bool) -> float | None:
    """Give the median time, in samples, from an edge of `before` to the next of `after` in the same direction."""
    first, second = before.at[before.high == up], after.at[after.high == up]
    following = np.searchsorted(second, first)
    has = following < second.size
    apart = second[following[has]] - first[has]
    # the next edge of the same direction, unless that one is missing: then it is another one, far away
    if apart.size < FEWEST_EDGES:
        return None
    return float(np.median(apart))
