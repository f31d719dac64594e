"""A tone that is keyed on and off, taken for a line: edges by the thousand at one even distance."""

import numpy as np

from tapewright.core.line.capture import RawEdges

#: fewer edges show no tone; below this it could be a line, Hz; how even the periods are and how many of them (our own
#: choice: a keyed tone has all but a few alike, a line has five lengths and more)
FEWEST_EDGES, LOWEST_HZ, EVEN, MOST_ALIKE = 100, 250.0, 0.1, 0.8


def tone_hz(edges: RawEdges) -> float | None:
    """Give the frequency of a keyed tone; None when these edges are none.

    A period is measured from an edge to the next but one, so that a threshold off the middle does not matter.
    """
    if edges.times_s.size < FEWEST_EDGES:
        return None
    periods = edges.times_s[2:] - edges.times_s[:-2]
    usual = float(np.median(periods))
    if usual <= 0.0 or 1 / usual < LOWEST_HZ:
        return None
    alike = float(np.mean(np.abs(periods - usual) <= EVEN * usual))
    return 1 / usual if alike >= MOST_ALIKE else None
