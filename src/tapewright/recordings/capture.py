r"""What a recording gives: every edge, none removed, none smoothed away.

Picture (o = sample; the edge lies between the last sample on one side and the first on the other):

    high       o---o---o
                        \
    low                  o---o
                        ^ edge, falling: level after it is low

An instrument is a suspect like any other: what is odd about a recording is said beside it.

What to mind before a wire of the line is touched; local codes and licensed practice rule.

Common practice, no source.
"""

from dataclasses import dataclass, field
from typing import Annotated, Any

import numpy as np
import numpy.typing as npt

from tapewright.furniture.document import Document, told

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
#: samples in whatever type of number the recorder gives them
Samples = npt.NDArray[Any]
NumberType = np.dtype[Any]


class Suspicion(Document, frozen=True):
    """Something about the instrument that could make a false reading."""

    suspicion: Annotated[str, told('What may be wrong, for example "AC coupling".')]
    evidence: Annotated[str, told("What in the recording says so, with its figure.")]
    do: Annotated[str, told("How to settle it or get rid of it.")]


@dataclass(frozen=True, slots=True, eq=False)
class RawEdges:
    """Every level change of one recorded channel.

    Attributes:
        times_s: shape (n,), seconds on the recording's own clock, not decreasing.
        level_after: shape (n,), True where the channel is high after the edge; alternates.
        u_s: shape (n,), standard uncertainty of each instant from the instrument alone (for plain
            sampling at interval D: D / sqrt 12, the edge being put midway between two samples).
        starts_high: level before the first edge; None when the recording cannot tell (no edges at all
            in an AC-coupled one).
        begin_s: time of the first sample.
        end_s: time of the last sample.
        levels_known: False when only the signs of edges are real and levels are inferred (AC coupling).
        suspicions: what is odd about the instrument.
        missing: shape (k, 2), begin and end in seconds of stretches in which the level is not known
            (x/z, dropped samples); no edge lies inside one.
        open_end: a list of changes that ends with a change and states no later end: no change came after it as far
            as the list goes, so the level is taken to have held.
    """

    times_s: FloatArray
    level_after: BoolArray
    u_s: FloatArray
    starts_high: bool | None
    begin_s: float
    end_s: float
    levels_known: bool = True
    suspicions: tuple[Suspicion, ...] = ()
    missing: FloatArray = field(default_factory=lambda: np.empty((0, 2)))
    open_end: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """One channel of one capture, with the facts about the file it came from.

    Attributes:
        edges: every edge of the channel.
        kind: the format, for example "csv, sampled volts" or "wav".
        channel: the channel's name.
        channels: names of all channels in the file.
        samples: number of samples (rows, changes) read of this channel.
        rate_hz: sample rate; None for edge lists and irregular time.
        threshold_v: (low, high) thresholds used, in the file's own units; None for logic.
    """

    edges: RawEdges
    kind: str
    channel: str
    channels: tuple[str, ...]
    samples: int
    rate_hz: float | None
    threshold_v: tuple[float, float] | None = None


BEFORE_A_WIRE = (
    "Before a clip goes on or off: a loop can stand at 120 V or more and kicks far above that when it opens. Loop "
    "supply off, terminals proved dead; take the signal through something isolated. Local codes and licensed practice "
    "rule."
)
WHILE_IT_RUNS = (
    "The machine runs while you watch: covers on, hair, sleeves and fingers out of it; plug out before a screw."
)
SOAK = (
    "Never leave a machine running alone on its first days; look and smell every quarter of an hour; extinguisher near."
)
WATCH_CAUTIONS = (BEFORE_A_WIRE, WHILE_IT_RUNS)
SOAK_CAUTIONS = (*WATCH_CAUTIONS, SOAK)
