"""WAV: baseband, one channel, 8, 16, 24 or 32 bits; mark and space at +/- 45 % of full scale.

That leaves room for the overshoot of an AC-coupled input, which swings by the whole step in either direction.
"""

import wave
from collections.abc import Iterable
from pathlib import Path

import numpy as np
import numpy.typing as npt

from tapewright.errors import WrongUseError
from tapewright.sender.compose import Composed, Contents, Progress
from tapewright.sender.files.pieces import sample_pieces, total

WHAT = "WAV, baseband"
CONTENTS: tuple[Contents, ...] = ("volts",)
RATE_HZ = 44_100.0
USUAL_BITS = 16
#: a RIFF file counts its bytes with 32 bits
MOST_BYTES = 2**32 - 1024


def write(path: Path, composed: Composed, progress: Progress) -> None:
    """Write the signal.

    Raises:
        WrongUseError: when it would be longer than a WAV file can be, or its rate is not a whole number.
    """
    instrument = composed.instrument
    width = (instrument.bits or USUAL_BITS) // 8
    if total(composed) * width > MOST_BYTES:
        raise WrongUseError("This signal is longer than a WAV file can be (4 GB): lower --rate, or write .npz.")
    pieces = (volts.astype(float) / instrument.full_scale_v for volts in sample_pieces(composed, progress))
    write_pieces(path, instrument.rate_hz, width, pieces)


def write_pieces(path: Path, rate_hz: float, width: int, pieces: Iterable[npt.NDArray[np.float64]]) -> None:
    """Write values of -1 to 1 as they come, `width` bytes a sample.

    Raises:
        WrongUseError: when the rate is not a whole number.
    """
    if rate_hz != int(rate_hz):
        raise WrongUseError(f"A WAV file needs a whole number of samples a second, not {rate_hz:g}.")
    with path.open("wb") as raw, wave.open(raw, "wb") as file:
        file.setparams((1, width, int(rate_hz), 0, "NONE", "not compressed"))
        for values in pieces:
            file.writeframesraw(_frames(values, width))


def _frames(values: npt.NDArray[np.float64], width: int) -> bytes:
    """Return values of -1 to 1 as little-endian whole numbers of `width` bytes; 8 bits count from 0 (RIFF WAVE)."""
    steps = 2 ** (8 * width - 1)
    whole = np.clip(np.round(values * steps), -steps, steps - 1).astype("<i4")
    if width == 1:
        return bytes((whole + steps).astype("u1"))
    return bytes(np.ascontiguousarray(whole.view("u1").reshape(-1, 4)[:, :width]))
