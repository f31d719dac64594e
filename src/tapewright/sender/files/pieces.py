"""A composed signal piece by piece, with progress: what all writers draw from."""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from tapewright.practice.instrument import kept_count, record_edges, record_in_pieces, record_logic_in_pieces
from tapewright.sender.compose import Composed, Progress

PIECE = 1 << 18
#: rows of text made at a time
ROWS = 1 << 16


def total(composed: Composed) -> int:
    """Number of samples in all, without those that are lost."""
    return kept_count(composed.transmission.line, composed.instrument, composed.chance())


def sample_pieces(composed: Composed, progress: Progress) -> Iterator[npt.NDArray[np.generic]]:
    """Return the samples piece by piece: truth values for logic, else volts."""
    record = record_logic_in_pieces if composed.contents == "logic" else record_in_pieces
    done, every = 0, max(total(composed), 1)
    for piece in record(composed.transmission.line, composed.instrument, composed.chance(), PIECE):
        yield piece
        done += piece.size
        progress(done / every)


def edge_rows(composed: Composed) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.bool_]]:
    """Return times and levels: how it begins, every change, and once more the last level at the end."""
    line, instrument = composed.transmission.line, composed.instrument
    times, levels, starts_high = record_edges(line, instrument)
    end_s = (line.end_s - line.begin_s) * instrument.true_rate_hz / instrument.rate_hz
    levels = np.concatenate([[starts_high], levels])
    return np.concatenate([[0.0], times, [end_s]]), np.append(levels, levels[-1])
