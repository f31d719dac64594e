r"""What trim is given: knobs, readings with their limits, and the trials so far.

Picture (one knob, one reading; o = a trial, I = what the gauge said of it):

    reading
      |            I
      |      I     |            --- high
      |      |          ?       the move that is looked for lands here
      |                         --- low
      +------o-----o----------> knob position, absolute, as read off the screw

Play: what a reversal of a screw loses before the part follows.

Picture (position of the part against the screw; p = free play):

    part |            ___/        the part follows, p/2 behind, in either direction;
         |         __/            after a reversal it stands still for p
         |     p  /
         |   /<-->
         +------------- screw

The play operator of hysteresis theory (Krasnosel'skii and Pokrovskii 1983; from memory).
"""

from dataclasses import dataclass

import numpy as np

from tapewright.gauges.trim.interval_fit import FloatArray
from tapewright.number import Source, Standing

OWN_LIMITS = Source("trials file", "", Standing.OWNER)


@dataclass(frozen=True, slots=True)
class Knob:
    """Something one can turn.

    Attributes:
        name, unit: as the user calls it, for example "low screw" in "turn".
        step_limit: farthest one move may go, in `unit`; None when not stated.
        play: free play, in `unit`: what a reversal loses before the part follows.
        low, high: ends it must not be forced past, in `unit`; None when not known.
    """

    name: str
    unit: str
    step_limit: float | None = None
    play: float = 0.0
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Target:
    """A reading with the limits it should come to lie in.

    Attributes:
        name, unit: as the user calls it.
        low, high: limits in `unit`; at least one of them.
        u: standard uncertainty of a reading that is a plain number, and of the feel behind a go/no-go pair.
        lock_shift: standard deviation of what locking moves it by, in `unit`.
        source: where the limits come from.
        cautions: what the machine's sheet says to mind before.
        assumed: how a doubt that nobody stated was taken, in words; empty when it was stated.
    """

    name: str
    unit: str
    low: float | None
    high: float | None
    u: float | None = None
    lock_shift: float = 0.0
    source: Source = OWN_LIMITS
    cautions: tuple[str, ...] = ()
    assumed: str = ""


@dataclass(frozen=True, slots=True)
class Expectation:
    """What is known beforehand of one sensitivity, in reading unit per knob unit: value and standard uncertainty."""

    knob: int
    reading: int
    value: float
    u: float


@dataclass(frozen=True, slots=True)
class Seen:
    """What the gauge said: a number with its u (None: the reading's own), or an interval (None: no end)."""

    value: float | None = None
    u: float | None = None
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Trial:
    """One state of the machine: every knob's position, and what was read there (None: not read)."""

    at: tuple[float, ...]
    read: tuple[Seen | None, ...]


@dataclass(frozen=True, slots=True)
class Slip:
    """Something gave way between two trials: from this one on every reading, or one alone, lies otherwise."""

    trial: int
    reading: int | None = None


@dataclass(frozen=True, slots=True)
class Problem:
    """Everything trim goes by; the last trial is where the machine stands now."""

    knobs: tuple[Knob, ...]
    targets: tuple[Target, ...]
    trials: tuple[Trial, ...]
    expectations: tuple[Expectation, ...] = ()
    slips: tuple[Slip, ...] = ()

    @property
    def screws(self) -> FloatArray:
        """Positions of the knobs at each trial, shape (T, K)."""
        return np.array([t.at for t in self.trials], dtype=float)

    def steps_of(self, j: int) -> FloatArray:
        """Return a column for each slip that reading j felt, shape (T, slips): -1 before it, 0 since."""
        felt = [s.trial for s in self.slips if s.reading in (None, j)]
        before = np.arange(len(self.trials))[:, None] < np.array(felt, dtype=int)[None, :]
        return np.where(before, -1.0, 0.0)


def follow(part: FloatArray, screw: FloatArray, play: FloatArray) -> FloatArray:
    """Return where the part stands once the screw went to `screw` and the part stood at `part`; shapes broadcast."""
    return np.clip(part, screw - play / 2, screw + play / 2)


def follow_all(screws: FloatArray, play: FloatArray) -> FloatArray:
    """Return the part at each trial, shape (T, K), for screws (T, K), play (K,); it begins amid its play."""
    parts = np.empty_like(screws)
    here = screws[0]
    for n, screw in enumerate(screws):
        here = parts[n] = follow(here, screw, play)
    return parts
