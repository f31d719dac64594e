r"""A receiver looking at this signal: where may it look, and how much distortion is left to spare?

Picture (window w of the unit; x = orientation, how much later than the middle it looks):

    element k     |<-------- 1 unit -------->|
                  ^ boundary k               ^ boundary k + 1
                         [== w ==]
                     middle + x

The element reads right while no transition falls into the window:

    d(k) - 1/2 + w/2  <=  x  <=  d(k + 1) + 1/2 - w/2         d = gross individual distortion, in units

so the orientation range is the largest lower end and the smallest upper end over all elements of all characters,
and the margin is half of the range: (1 - w)/2 on an undistorted signal (derived; 40 per cent for w = 0.2, the
figure beyond which an army course says misprints are sure, SS0031 p. 20).
"""

from typing import TypedDict

import numpy as np

from tapewright.line.document import AddedRange, ElementRange, Receiver
from tapewright.line.frames import IntArray
from tapewright.line.instants import Instants
from tapewright.line.tail import EARLY, LATE, Tail
from tapewright.recordings.capture import FloatArray

DEFAULT_WINDOW = 0.2


class _Ends(TypedDict):
    orientation_low: float
    orientation_high: float
    margin_percent: float


class _Doubt(TypedDict):
    orientation_low_u: float | None
    orientation_high_u: float | None
    margin_u: float | None


#: name -> displacement of (closings, openings) for one unit of it (FED-STD-1037C signs).
ADDED = {
    "marking bias": (-1.0, 0.0),
    "spacing bias": (1.0, 0.0),
    "marking end": (0.0, 1.0),
    "spacing end": (0.0, -1.0),
}
ADDED_UNITS = (0.1, 0.2)


def receive(
    instants: Instants, nominal_s: float, *, window: float, elements: int, tail: Tail | None = None
) -> Receiver:
    """Simulate a receiver that runs at the nominal unit and starts at each start transition.

    Args:
        instants: of all characters; chatter is left out.
        nominal_s: the receiver's unit.
        window: width of its look, 0 (a point) to less than 1, as a share of the unit.
        elements: number of elements in a character.
        tail: how the instants scatter, for the doubt of the ends.

    Raises:
        ValueError: when the window is not in [0, 1).
    """
    if not 0 <= window < 1:
        raise ValueError(f"a receiver's window is between 0 and 1 of the unit, not {window}")
    use = ~instants.chatter
    d, k, to_mark = instants.deviation_units(nominal_s)[use], instants.boundary[use], instants.to_mark[use]
    ranges = _ranges(d, k, window, elements)
    added = []
    for name, (closings, openings) in ADDED.items():
        for size in ADDED_UNITS:
            moved = d + size * np.where(to_mark, closings, openings)
            left = _in_percent(*_overall(_ranges(moved, k, window, elements)))
            added.append(AddedRange(kind=name, percent=100 * size, **left))
    every = range(1, elements + 1)
    return Receiver(
        window=window,
        **_in_percent(*_overall(ranges)),
        **_doubt(tail, nominal_s, every),
        per_element=tuple(
            ElementRange(element=n, **_in_percent(*r), **_doubt(tail, nominal_s, range(n, n + 1)))
            for n, r in zip(every, ranges, strict=True)
        ),
        with_added=tuple(added),
    )


def _doubt(tail: Tail | None, nominal_s: float, elements: range) -> _Doubt:
    """Return the doubt of both ends and of the margin: that another recording has other instants farthest out."""
    if tail is None:
        return _Doubt(orientation_low_u=None, orientation_high_u=None, margin_u=None)
    begins = np.isin(tail.boundary, elements)
    ends = np.isin(tail.boundary, range(elements.start + 1, elements.stop + 1))
    low = 100 * tail.of_largest(nominal_s, (LATE,), begins)
    high = 100 * tail.of_largest(nominal_s, (EARLY,), ends)
    return _Doubt(orientation_low_u=low, orientation_high_u=high, margin_u=float(np.hypot(low, high)) / 2)


def _ranges(d: FloatArray, k: IntArray, window: float, elements: int) -> list[tuple[float, float]]:
    """Return the earliest and the latest orientation of each element, in units."""
    half = 0.5 - window / 2
    out = []
    for element in range(1, elements + 1):
        # the start transition, at boundary 0, is the reference and has no distortion of its own
        before, after = d[k == element], d[k == element + 1]
        low = float(before.max()) if before.size else 0.0
        high = float(after.min()) if after.size else 0.0
        out.append((low - half, high + half))
    return out


def _overall(ranges: list[tuple[float, float]]) -> tuple[float, float]:
    return max(low for low, _ in ranges), min(high for _, high in ranges)


def _in_percent(low: float, high: float) -> _Ends:
    """Return a range with its margin: half of it, the distortion left to spare at the best orientation."""
    margin = max(0.0, (high - low) / 2)
    return _Ends(orientation_low=100 * low, orientation_high=100 * high, margin_percent=100 * margin)
