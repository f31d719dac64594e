"""The strips: chains of feed holes joined, numbered row by row, and each row given its own small grid.

    row n:   feed centre z, one step along A, one step across C (complex, pixels)
    place of track step k:   z + advance A + k C + k k E       (E: perspective across the tape)

The step along follows the smoothed feed row. The step across is at first square to it, then fitted to the code
holes seen, first the near tracks, then the far ones, so that a picture taken at a slant is followed.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tapewright.pictures.picture import BoolArray, FloatArray, IntArray, Points, from_level
from tapewright.tape.feed_row import Chain
from tapewright.tape.neighbours import nearest_within, rolling_median
from tapewright.tape.spots import Spots

#: Track steps looked at on both sides until it is known which side has three tracks.
STEPS = (-3, -2, -1, 0, 1, 2, 3)
#: Code hole diameter in feed hole diameters: 1.56 nominal.
CODE_LOW, CODE_HIGH = 1.2, 2.1
WINDOW_ROWS = 10
#: Steps over so many rows on both sides, longer or shorter by this share, are a curl of the tape or its stretch.
CURL_ROWS, CURL_FROM = 4, 0.015
JOIN_ROWS = 30
#: Chains looked at in one level: a page of text can make hundreds of short ones.
MOST_CHAINS = 40


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """One strip with its rows in the order in which they were found (not yet the reading order).

    Attributes:
        z: shape (n,), feed hole centres (estimated where `found` is False), pixels of the full picture.
        found: shape (n,), whether a feed hole was seen there.
        along: shape (n,), one grid step along the tape, complex pixels.
        across: shape (n,), one grid step across (to the right of `along`, y downwards), complex pixels.
        bow: shape (n,), E above, complex pixels.
        advance: code row centre ahead of the feed hole, in steps along.
        feed_diameter: feed hole diameter in steps, roughly.
        light: True when holes are lighter than the paper.
        matched: number of code holes the grid was fitted to.
        residual: their root mean square distance from it, in steps.
    """

    z: Points
    found: BoolArray
    along: Points
    across: Points
    bow: Points
    advance: float
    feed_diameter: float
    light: bool
    matched: int = 0
    residual: float = 0.0

    @property
    def rows(self) -> int:
        """Number of rows."""
        return int(self.z.size)

    @property
    def pitch_px(self) -> float:
        """Median step along, pixels."""
        return float(np.median(np.abs(self.along)))

    @property
    def shortened(self) -> FloatArray:
        """Return how long steps along are near each row against the grid's even steps, shape (n,); 1 on flat tape."""
        steps = np.abs(np.diff(self.z))
        steps = np.where(self.found[1:] & self.found[:-1], steps, np.nan)
        near = rolling_median(np.append(steps, np.nan), CURL_ROWS) / np.abs(self.along)
        return np.where(np.isfinite(near) & (np.abs(near - 1) > CURL_FROM), near, 1.0)

    def stretched(self, steps: Sequence[int]) -> FloatArray:
        """Return how long a step along is at each place of the track steps against the window's own, shape (n, steps).

        A tape that is bent in its plane is longer on its outer side; one that is curled is shorter all over.
        """
        beyond = np.stack([self.place(k) - self.z for k in steps], 1)
        further = (np.gradient(beyond, axis=0) if self.rows > 1 else 0 * beyond) / self.along[:, None]
        smooth = np.stack([rolling_median(column, WINDOW_ROWS) for column in further.real.T], 1)
        return self.shortened[:, None] + smooth

    def place(self, step: int) -> Points:
        """Return where the grid puts the holes of track step k, shape (n,)."""
        ahead = self.advance if step else 0.0
        return self.z + ahead * self.along + step * self.across + step * step * self.bow


def lay_strips(chains: list[Chain], spots: Spots, factor: float, *, light: bool) -> list[Grid]:
    """Join chains and lay the grids, in pixels of the full picture; of strips on one another keep the longest."""
    full = Spots(from_level(spots.z, factor), spots.diameter / factor)
    joined = _join([replace(c, z=from_level(c.z, factor), pitch_px=c.pitch_px / factor,
                            diameter_px=c.diameter_px / factor) for c in chains])  # fmt: skip
    strips: list[Grid] = []
    joined.sort(key=lambda c: -c.z.size)
    for chain in joined[:MOST_CHAINS]:
        if not any(_lies_on(chain, strip) for strip in strips):
            strips.append(_fit_across(_straight_grid(chain, light=light), full, chain.diameter_px))
    return strips


def _join(chains: list[Chain]) -> list[Chain]:
    """Join chains whose ends point at each other over at most JOIN_ROWS missing rows."""
    chains = list(chains)
    while True:
        pair = _first_joint(chains)
        if pair is None:
            return chains
        a, b, run = pair
        first, second = chains[a], chains[b]
        merged = Chain(run, (first.pitch_px + second.pitch_px) / 2, (first.diameter_px + second.diameter_px) / 2)
        chains = [c for n, c in enumerate(chains) if n not in (a, b)] + [merged]


def _first_joint(chains: list[Chain]) -> tuple[int, int, Points] | None:
    for a, first in enumerate(chains):
        for b in range(a + 1, len(chains)):
            for x in (first.z, first.z[::-1]):
                for y in (chains[b].z, chains[b].z[::-1]):
                    if _continues(x, y, first.pitch_px, chains[b].pitch_px):
                        return a, b, np.concatenate([x, y])
    return None


def _continues(x: Points, y: Points, pitch: float, other: float) -> bool:
    if not 0.7 < pitch / other < 1.4:
        return False
    reach = min(6, x.size - 1, y.size - 1)
    ahead, behind = (x[-1] - x[-1 - reach]) / reach, (y[reach] - y[0]) / reach
    gap = y[0] - x[-1]
    middle = (ahead + behind) / 2
    if abs(middle) < 0.5 * pitch:
        return False
    place = gap / middle
    return bool(0.5 < place.real < JOIN_ROWS and abs(place.imag) < 0.25 + 0.08 * place.real)


def _lies_on(chain: Chain, strip: Grid) -> bool:
    """Return whether most of a chain lies within the width of a strip."""
    i, j = nearest_within(chain.z, strip.z, 4.2 * strip.pitch_px)
    if i.size < 0.5 * chain.z.size:
        return False
    place = (chain.z[i] - strip.z[j]) / strip.along[j]
    return bool(np.mean((np.abs(place.imag) < 3.6) & (np.abs(place.real) < 1.6)) > 0.5)


def _straight_grid(chain: Chain, *, light: bool) -> Grid:
    z, found = _with_missing_rows(chain.z, chain.pitch_px)
    along = smooth_steps(z)
    return Grid(z, found, along, along * 1j, 0 * along, 0.0, chain.diameter_px / chain.pitch_px, light)


def _with_missing_rows(z: Points, pitch: float) -> tuple[Points, BoolArray]:
    """Put in rows where the gap is a whole number of pitches, or has room for one more at the least.

    A step of less than two pitches that is no whole one is a matter for the measurement; in a longer one a row stands
    whose feed hole was not taken for one, for example because two holes run into each other.
    """
    steps = np.abs(np.diff(z))
    local = rolling_median(steps, 6)
    missing = np.maximum(np.rint(steps / local).astype(int) - 1, 0)
    odd = np.abs(steps / local - missing - 1) > 0.25 + 0.02 * missing
    missing[odd & (steps < 2 * local)] = 0
    parts, found = [], []
    for n, count in enumerate(missing.tolist()):
        share = np.arange(count + 1) / (count + 1)
        parts.append(z[n] + (z[n + 1] - z[n]) * share)
        found += [True] + [False] * count
    return np.concatenate([*parts, z[-1:]]), np.array([*found, True])


def smooth_steps(z: Points) -> Points:
    """Return one grid step along at each row: the direction by a local quadratic, the length by the local median step.

    The length must not follow a single short or long step, the direction must follow a bend.
    """
    chord = np.abs(np.diff(z))
    s = np.concatenate([[0.0], np.cumsum(chord)])
    near = np.arange(-WINDOW_ROWS, WINDOW_ROWS + 1)
    index = np.arange(z.size)[:, None] + near
    inside = (index >= 0) & (index < z.size)
    index = np.clip(index, 0, z.size - 1)
    weight = np.where(inside, np.maximum(1 - np.abs(near) / (WINDOW_ROWS + 1), 0.05), 0.0)
    x = (s[index] - s[:, None]) / (s[-1] / max(z.size - 1, 1) * WINDOW_ROWS)
    order = 2 if z.size >= 8 else 1
    powers = x[..., None] ** np.arange(order + 1)
    normal = np.einsum("nw,nwi,nwj->nij", weight, powers, powers)
    right = np.einsum("nw,nwi,nw->ni", weight, powers, z[index] - z[:, None])
    direction = np.linalg.solve(normal + 1e-9 * np.eye(order + 1), right[..., None])[:, 1, 0]
    length = rolling_median(np.append(chord, np.nan), WINDOW_ROWS)
    return np.asarray(direction / np.abs(direction) * _even_out(length), np.complex128)


def _even_out(length: FloatArray) -> FloatArray:
    """Let the pitch in pixels change no faster than a parabola over the strip (perspective), fitted robustly."""
    x = np.linspace(-1, 1, length.size)
    order = 2 if length.size > 40 else 1 if length.size > 15 else 0
    keep = np.ones(length.size, bool)
    fit = length
    for _ in range(3):
        fit = np.polynomial.Polynomial.fit(x[keep], length[keep], order)(x)
        off = np.abs(length - fit)
        keep = off <= max(3 * float(np.median(off)), 1e-3 * float(np.median(length)))
    return np.asarray(fit)


def _fit_across(strip: Grid, spots: Spots, feed_px: float) -> Grid:
    size = spots.diameter / feed_px
    z = spots.z[(size > CODE_LOW) & (size < CODE_HIGH)]
    # widen from the near tracks to the far ones: a slant grows with the distance from the feed row
    for farthest, terms in ((1, 1), (2, 1), (3, 1), (3, 3), (3, 3)):
        row, step, seen = _matches(strip, z, farthest)
        if row.size < 4:
            return strip
        strip = refit(strip, row, step, seen, terms if row.size > 40 else 1)
    return strip


def _matches(strip: Grid, z: Points, farthest: int) -> tuple[IntArray, IntArray, Points]:
    steps = [k for k in STEPS if k and abs(k) <= farthest]
    places = np.concatenate([strip.place(k) for k in steps])
    i, j = nearest_within(places, z, 0.34 * strip.pitch_px)
    return i % strip.rows, np.array(steps)[i // strip.rows], z[j]


def refit(strip: Grid, row: IntArray, step: IntArray, seen: Points, terms: int) -> Grid:
    """Fit advance, C and E by least squares to the centres `seen` of holes at (row, step), leaving out the worst."""
    # what is fitted is the correction: with holes in one track only, the least one keeps the grid square
    place = (seen - strip.z[row]) / strip.along[row]
    now_across, now_bow = strip.across / strip.along, strip.bow / strip.along
    left = place - strip.advance - step * now_across[row] - step**2 * now_bow[row]
    t = np.linspace(-1, 1, strip.rows)
    x = t[row]
    bowed = terms > 1
    columns = [step * x**p for p in range(terms)] + ([step**2, step**2 * x] if bowed else [])
    basis = np.stack([np.ones(row.size), *columns], 1)
    keep = np.ones(row.size, bool)
    fit = np.zeros(basis.shape[1], complex)
    off = np.zeros(row.size)
    for _ in range(4):
        fit = np.linalg.lstsq(basis[keep], left[keep], rcond=None)[0]
        off = np.abs(left - basis @ fit)
        keep = off <= max(3 * float(np.median(off[keep])), 0.02)
    across = now_across + sum(fit[1 + p] * t**p for p in range(terms))
    bow = now_bow + (fit[1 + terms] + fit[2 + terms] * t if bowed else 0 * t)
    if not 0.75 < float(np.median(np.abs(across))) < 1.33:
        return strip
    # the sideways part of the constant is an error of the feed line, shared by all tracks: it goes into E's place
    return replace(
        strip, across=strip.along * across, bow=strip.along * bow, advance=strip.advance + float(fit[0].real),
        matched=int(keep.sum()), residual=float(np.sqrt(np.mean(off[keep] ** 2))),
    )  # fmt: skip
