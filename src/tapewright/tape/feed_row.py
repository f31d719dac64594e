"""The feed row: equal small spots in a smooth line, each with a neighbour on both sides at the same distance.

    o     o     o     o     o        d / pitch = 1.17 / 2.54 = 0.46
    |<---pitch->|                     (code holes: 1.83 / 2.54 = 0.72, so they are not taken for it)

A chain is begun where three neighbours show the same step, and then followed both ways by looking for the next
spot in a cone ahead; so bends, short steps and missing feed holes do not end it.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from tapewright.pictures.picture import FloatArray, IntArray, Points
from tapewright.tape.neighbours import counting, pairs_within
from tapewright.tape.spots import Spots

#: Step from feed hole to feed hole, in diameters of the spot: 2.17 nominal; blur and threshold change the diameter.
STEP_LOW, STEP_HIGH = 1.55, 2.75
SIZE_LOW, SIZE_HIGH = 0.68, 1.47
FEWEST_ROWS = 6
LONGEST_GAP_ROWS = 8


@dataclass(frozen=True, slots=True, eq=False)
class Chain:
    """A run of feed holes as first found.

    Attributes:
        z: shape (n,), centres in order, pixels of the level.
        pitch_px: median step, pixels of the level.
        diameter_px: median diameter of the spots.
    """

    z: Points
    pitch_px: float
    diameter_px: float


def find_chains(spots: Spots) -> list[Chain]:
    """Return the chains, longest first; a spot belongs to one at most."""
    taken: set[int] = set()
    chains: list[Chain] = []
    for low in _size_classes(spots.diameter):
        chains += _chains_of_class(spots, low, taken)
    return sorted(chains, key=lambda chain: -chain.z.size)


def _size_classes(diameter: FloatArray) -> Iterator[float]:
    """Return the lower ends of overlapping classes: neighbours are looked for among spots of about the same size."""
    low = 2.2
    while diameter.size and low < diameter.max():
        yield low
        low *= 1.35


def _chains_of_class(spots: Spots, low: float, taken: set[int]) -> list[Chain]:
    """Begin chains within a class, and follow them over spots of any size near it: perspective changes the size."""
    d = spots.diameter
    near = np.flatnonzero((d >= low * 0.65) & (d < low * 1.7 * 1.5))
    member = np.flatnonzero((d >= low) & (d < low * 1.7))
    i, j = _seeds(spots.z[member], d[member])
    if not i.size:
        return []
    grid = _Grid(spots, near, STEP_HIGH * low * 1.7, taken)
    found = []
    for a, b in zip(member[i].tolist(), member[j].tolist(), strict=True):
        if not {a, b} & taken:
            run = [*reversed(grid.follow(b, a)), *grid.follow(a, b)]
            chain = _chain(spots.z[run], d[run])
            if chain is not None:
                taken |= set(run)
                found.append(chain)
    return found


def _seeds(z: Points, d: FloatArray) -> tuple[IntArray, IntArray]:
    """Return pairs that are both the middle of a straight, even triple."""
    none = np.empty(0, np.int64)
    if z.size < FEWEST_ROWS:
        return none, none
    i, j = pairs_within(z, STEP_HIGH * float(d.max()))
    step, size = np.abs(z[j] - z[i]) / (0.5 * (d[i] + d[j])), d[j] / d[i]
    keep = (step > STEP_LOW) & (step < STEP_HIGH) & (size > SIZE_LOW) & (size < SIZE_HIGH)
    i, j = i[keep], j[keep]
    order = np.argsort(i, kind="stable")
    i, j = i[order], j[order]
    first, count = np.searchsorted(i, i, "left"), np.searchsorted(i, i, "right")
    count = count - first
    edge = np.repeat(np.arange(i.size), count)
    other = np.repeat(first, count) + counting(count)
    v, w = z[j[edge]] - z[i[edge]], z[j[other]] - z[i[edge]]
    even = np.abs(v + w) < 0.22 * np.abs(v)
    supported = np.zeros(i.size, bool)
    supported[edge[even]] = True
    i, j = i[supported], j[supported]
    both = np.isin(i * z.size + j, j * z.size + i) & (i < j)
    return i[both], j[both]


class _Grid:
    """Spots in square cells, to look for the next one ahead; numbers are those of all spots."""

    def __init__(self, spots: Spots, which: IntArray, cell: float, taken: set[int]) -> None:
        self.z, self.d, self.cell, self.taken = spots.z.tolist(), spots.diameter.tolist(), cell, taken
        self.held: dict[tuple[int, int], list[int]] = {}
        for n in which.tolist():
            point = self.z[n]
            self.held.setdefault((int(point.real // cell), int(point.imag // cell)), []).append(n)

    def follow(self, before: int, start: int) -> list[int]:
        """Walk from `start`, coming from `before`; give the spots met, `start` first."""
        run, seen = [start], self.taken | {before, start}
        steps = [self.z[start] - self.z[before]]
        while True:
            recent = steps[-6:]
            step = sum(recent) / len(recent)
            # the direction turns slowly; the length is that of the median, so that one odd step does not lead astray
            length = sorted(abs(s) for s in recent)[len(recent) // 2]
            step = step / (abs(step) or 1.0) * length
            ahead = self._next(run[-1], step, seen, LONGEST_GAP_ROWS if len(run) >= FEWEST_ROWS else 2)
            if ahead is None:
                return run
            reached, rows = ahead
            steps.append((self.z[reached] - self.z[run[-1]]) / rows)
            run.append(reached)
            seen.add(reached)

    def _next(self, last: int, step: complex, seen: set[int], farthest: int) -> tuple[int, int] | None:
        """Return the next spot ahead and how many rows away it is, looking at most `farthest` rows ahead."""
        here, size, cell = self.z[last], self.d[last], self.cell
        for rows in range(1, farthest + 1):
            centre = here + rows * step
            low, high = (0.4, 1.5) if rows == 1 else (rows - 0.5, rows + 0.5)
            sideways = 0.2 + 0.06 * rows
            best, nearest = None, high
            column, line = int(centre.real // cell), int(centre.imag // cell)
            for c in (column - 1, column, column + 1):
                for r in (line - 1, line, line + 1):
                    for n in self.held.get((c, r), ()):
                        place = (self.z[n] - here) / step
                        ahead = low < place.real < nearest and -sideways < place.imag < sideways
                        if ahead and n not in seen and SIZE_LOW < self.d[n] / size < SIZE_HIGH:
                            best, nearest = n, place.real
            if best is not None:
                return best, rows
        return None


def _chain(z: Points, d: FloatArray) -> Chain | None:
    if z.size < FEWEST_ROWS:
        return None
    steps = np.abs(np.diff(z))
    pitch = float(np.median(steps))
    ratio = float(np.median(d)) / pitch
    even = float(np.mean(np.abs(steps / pitch - np.maximum(np.rint(steps / pitch), 1)) < 0.15))
    if not 0.32 < ratio < 0.64 or even < 0.6:
        return None
    return Chain(z, pitch, float(np.median(d)))
