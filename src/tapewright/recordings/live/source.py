"""What a live source gives: pieces of a line as it happens."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import numpy as np
import numpy.typing as npt

from tapewright.recordings.capture import Samples, Suspicion


@dataclass(frozen=True, slots=True, eq=False)
class SamplePiece:
    """The next samples, none missing since the piece before.

    Attributes:
        samples: shape (n,); n may be 0, so that the keyboard is looked at while nothing comes.
        ready_at_s: monotonic clock when the last of them could be had at the earliest; None when that is not known.
        lag_s: how long before that the last of them was on the line: the way through the instrument.
    """

    samples: Samples
    ready_at_s: float | None = None
    lag_s: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class EdgePiece:
    """The next edges of a source that sees edges.

    Attributes:
        times_s: shape (n,), since the source began.
        level_after: shape (n,), True for high.
        u_s: shape (n,), standard uncertainty of each.
        until_s: there is no other edge up to here.
    """

    times_s: npt.NDArray[np.float64]
    level_after: npt.NDArray[np.bool_]
    u_s: npt.NDArray[np.float64]
    until_s: float


@dataclass(frozen=True, slots=True)
class CodePiece:
    """Characters of a source that tells no timing; an empty code stands for one that came broken."""

    codes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class GapPiece:
    """The line was not seen for a while.

    Attributes:
        seconds: how long; None when that cannot be known.
        why: in words.
    """

    seconds: float | None
    why: str


Piece = SamplePiece | EdgePiece | CodePiece | GapPiece


class LiveSource(Protocol):
    """Something that shows a line as it happens."""

    @property
    def what(self) -> str:
        """Say what it is, for people."""

    @property
    def rate_hz(self) -> float | None:
        """Samples a second; None when it gives edges or characters."""

    @property
    def suspicions(self) -> tuple[Suspicion, ...]:
        """Say what its nature makes doubtful."""

    @property
    def whole_file(self) -> Path | None:
        """Return the file that holds all that the source shows, when there is one."""

    def pieces(self) -> Iterator[Piece]:
        """Return pieces until the source ends or is closed; one at least every tenth of a second.

        Raises:
            InputError: when the source fails.
        """

    def close(self) -> None:
        """Let go of it; may be called twice."""


@dataclass(frozen=True, slots=True)
class SourceOnOffer:
    """One kind of source as `--list` shows it.

    Attributes:
        kind: how to ask for it.
        what: what it is.
        example: a whole `--from`.
        found: places where one was found, for example ports.
        unavailable: why it cannot be used here, and the remedy; empty when it can.
    """

    kind: str
    what: str
    example: str
    found: tuple[str, ...]
    unavailable: str
