"""Read a recorded coil current, or two to compare."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import numpy as np
import numpy.typing as npt

from tapewright.coil.compare import Change, changes
from tapewright.coil.document import Loop, Signature, read_current


class Samples(Protocol):
    """Evenly sampled numbers from a file."""

    @property
    def values(self) -> npt.NDArray[np.float64]:
        """The samples."""

    @property
    def rate_hz(self) -> float:
        """Samples per second."""

    @property
    def channel(self) -> str:
        """The channel's name."""


#: gives the samples of a file
Reader = Callable[[Path], Samples]


@dataclass(frozen=True, slots=True, eq=False)
class CoilReading:
    """What one file says.

    Attributes:
        path: the file.
        samples: what was recorded.
        signature: what it says.
    """

    path: Path
    samples: Samples
    signature: Signature


def read_coil_current(path: Path, reader: Reader, loop: Loop, scale: float) -> CoilReading:
    """Read one file; `scale` makes volts (or amperes) of its numbers."""
    samples = reader(path)
    return CoilReading(path, samples, read_current(samples.values * scale, samples.rate_hz, loop))


def compare_coil_currents(before: CoilReading, after: CoilReading) -> tuple[Change, ...]:
    """Compare two files."""
    return changes(before.signature, after.signature)
