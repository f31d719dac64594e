r"""The practice punch: codes in, holes with known places and faults out.

Picture (tape face up, first row left; x along, y towards track 5, feed line at y = 0, millimetres):

    track 1   o     (  flap: paper left beyond the hinge line
    track 2      o  |)
    feed      . . . .
    track 3      o
    track 4   o     o
    track 5         o

A pin can miss, leave a flap, be dull (a smaller hole) or stand off its place; the feed can step short now and
then, have a chipped tooth, an eccentric wheel or a weak detent; the block can stand out of square; the supply can
drag.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from tapewright.reference import five_unit_tape as tape

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Pin:
    """One pin with its hole in the die.

    Attributes:
        diameter_mm: diameter of the hole it cuts.
        along_mm: how far it stands off its place towards later rows.
        across_mm: the same towards track 5.
        misses: chance of no hole at all.
        flaps: chance of a flap in rows of one to three holes.
        flaps_loaded: chance of a flap in rows of four and five holes.
        flap_open: open share of a hole with a flap, between these two.
    """

    diameter_mm: float = tape.CODE_HOLE_MM
    along_mm: float = 0.0
    across_mm: float = 0.0
    misses: float = 0.0
    flaps: float = 0.0
    flaps_loaded: float = 0.0
    flap_open: tuple[float, float] = (0.3, 0.7)


@dataclass(frozen=True, slots=True)
class FeedDrive:
    """The feed: ratchet, pawl, wheel, detent.

    Attributes:
        pitch_mm: mean step.
        scatter_mm: standard deviation of a step (weak detent).
        tooth_rows: teeth of the ratchet, 0 for none chipped.
        tooth_mm: how much the step at the chipped tooth differs.
        wheel_rows: rows in a turn of an eccentric wheel, 0 for none.
        wheel_mm: amplitude of the places.
        short_chance: chance that the pawl takes half a step.
        miss_chance: chance that it takes none: two codes on one row.
        oval_mm: how much longer than wide the feed holes are pulled.
        oval_behind: True when they are pulled towards earlier rows (supply drag).
    """

    pitch_mm: float = tape.GRID_MM
    scatter_mm: float = 0.0
    tooth_rows: int = 0
    tooth_mm: float = 0.0
    wheel_rows: int = 0
    wheel_mm: float = 0.0
    short_chance: float = 0.0
    miss_chance: float = 0.0
    oval_mm: float = 0.0
    oval_behind: bool = True


@dataclass(frozen=True, slots=True)
class Punch:
    """A punch.

    Attributes:
        pins: pins 1 to 5.
        feed: the feed.
        feed_hole_mm: diameter of the feed holes.
        advanced_mm: feed pin ahead of the code pins, towards earlier rows.
        skew_mm: how much track 5 stands behind track 1 (block out of square).
        guide_mm: how far the tape runs off its place in the guide, towards track 5 (all holes shift).
    """

    pins: tuple[Pin, ...] = (Pin(),) * 5
    feed: FeedDrive = field(default_factory=FeedDrive)
    feed_hole_mm: float = tape.FEED_HOLE_MM
    advanced_mm: float = 0.0
    skew_mm: float = 0.0
    guide_mm: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Holes:
    """Holes of a tape; all arrays of shape (n,), millimetres.

    Attributes:
        x: place along.
        y: place across.
        diameter: of the round part.
        stretch: how much longer than that the hole is along (a feed hole pulled oval), signed towards later rows.
        hinge: distance of the hinge line of a flap from the centre, in radii; paper lies beyond it; 2 for no flap.
        turn: direction of the flap from the centre, radians.
    """

    x: FloatArray
    y: FloatArray
    diameter: FloatArray
    stretch: FloatArray
    hinge: FloatArray
    turn: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class PunchedTape:
    """What came out of the punch, with its truth.

    Attributes:
        codes: what was asked for.
        rows_x: shape (len(codes),), place of each code's row along the tape (equal for two codes on one row).
        state: shape (len(codes), 5), "clean", "partial" or "absent".
        holes: every hole there is, feed holes among them.
        length_mm: from the first row to the last.
        guide_mm: how far the feed line lies off its place.
    """

    codes: tuple[str, ...]
    rows_x: FloatArray
    state: npt.NDArray[np.str_]
    holes: Holes
    length_mm: float
    guide_mm: float


def punch_tape(codes: Sequence[str], punch: Punch, rng: np.random.Generator, *, leader: int = 0) -> PunchedTape:
    """Punch `codes` ("11000", element 1 first) after `leader` blank rows, and as many behind."""
    blank = ["00000"] * leader
    rows = [*blank, *codes, *blank]
    x = feed_places(len(rows), punch.feed, rng)
    found: list[tuple[float, ...]] = []
    state = np.full((len(rows), 5), "absent", dtype="<U7")
    for n, code in enumerate(rows):
        pull = punch.feed.oval_mm * (-1 if punch.feed.oval_behind else 1)
        found.append((float(x[n]) - punch.advanced_mm, 0.0, punch.feed_hole_mm, pull, 2.0, 0.0))
        for k, pin in enumerate(punch.pins):
            if code[k] == "1":
                hole, what = _cut(pin, k, float(x[n]), code.count("1"), punch, rng)
                state[n, k] = what
                found += [hole] if hole else []
    return PunchedTape(tuple(rows), x, state, Holes(*np.array(found).T), float(x[-1]), punch.guide_mm)


def feed_places(rows: int, feed: FeedDrive, rng: np.random.Generator) -> FloatArray:
    """Return the place of each row along the tape, mm, the first at 0."""
    n = np.arange(1, rows)
    step = feed.pitch_mm + feed.scatter_mm * rng.standard_normal(n.size)
    if feed.tooth_rows:
        step[n % feed.tooth_rows == 0] += feed.tooth_mm
    chance = rng.random(n.size)
    step[chance < feed.short_chance] = feed.pitch_mm / 2
    step[chance > 1 - feed.miss_chance] = 0.0
    x = np.concatenate([[0.0], np.cumsum(step)])
    if feed.wheel_rows:
        x += feed.wheel_mm * np.sin(2 * np.pi * np.arange(rows) / feed.wheel_rows)
    return np.asarray(x - x[0])


def _cut(
    pin: Pin, k: int, x: float, load: int, punch: Punch, rng: np.random.Generator
) -> tuple[tuple[float, ...] | None, str]:
    if rng.random() < pin.misses:
        return None, "absent"
    y = tape.TRACK_STEPS[k] * tape.GRID_MM
    # the block turns about the feed line; from track 1 to track 5 are five steps
    x += pin.along_mm + punch.skew_mm * tape.TRACK_STEPS[k] / 5
    place = (x, y + pin.across_mm, pin.diameter_mm, 0.0)
    if rng.random() < (pin.flaps_loaded if load > 3 else pin.flaps):
        return (*place, hinge_for(rng.uniform(*pin.flap_open)), rng.uniform(-np.pi, np.pi)), "partial"
    return (*place, 2.0, 0.0), "clean"


def hinge_for(open_share: float) -> float:
    """Return the hinge line's distance from the centre, in radii, that leaves this share of a disc open (bisection)."""
    low, high = -1.0, 1.0
    for _ in range(40):
        middle = (low + high) / 2
        beyond = (np.arccos(middle) - middle * np.sqrt(1 - middle**2)) / np.pi
        low, high = (low, middle) if 1 - beyond > open_share else (middle, high)
    return (low + high) / 2
