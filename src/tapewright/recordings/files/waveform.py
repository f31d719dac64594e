"""The samples themselves of one channel, by the same readers that find edges."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from tapewright.errors import InputError
from tapewright.recordings.edges.clock import Clock
from tapewright.recordings.edges.extract import SampleReader
from tapewright.recordings.files import wav_file
from tapewright.recordings.files.formats import unpacked_head
from tapewright.recordings.files.read import read_recordings

MOST_SAMPLES = 20_000_000
PIECE = 1 << 20
#: intervals may differ by this share before the sampling counts as irregular
MOST_IRREGULAR = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class Waveform:
    """Evenly sampled numbers.

    Attributes:
        values: shape (n,); whole numbers of a WAV file are given as a share of full scale.
        rate_hz: samples per second.
        channel: the channel's name.
    """

    values: npt.NDArray[np.float64]
    rate_hz: float
    channel: str


def read_waveform(path: Path, *, channel: str | None = None, rate_hz: float | None = None) -> Waveform:
    """Read the samples of one channel, the first unless told otherwise.

    Raises:
        InputError: the file cannot be read, holds no samples, or samples that are uneven, missing or too many.
    """
    taken: list[Waveform] = []

    def tap(reader: SampleReader, clock: Clock, names: tuple[str, ...]) -> None:
        taken.append(_take(path, reader, clock, names))

    read_recordings(path, channel=channel, rate_hz=rate_hz, tap=tap)
    if not taken:
        raise InputError(
            path.name,
            expected="a sampled current",
            found="a list of changes",
            do="Record the current itself: volts across a shunt, or a probe's output.",
        )
    return taken[0]


def _take(path: Path, reader: SampleReader, clock: Clock, names: tuple[str, ...]) -> Waveform:
    if reader.count > MOST_SAMPLES:
        raise InputError(
            path.name, expected=f"at most {MOST_SAMPLES} samples", found=str(reader.count), do="Cut out a few closings."
        )
    pieces = [reader.read(first, min(PIECE, reader.count - first))[0] for first in range(0, reader.count, PIECE)]
    raw = np.concatenate(pieces) if pieces else np.empty(0)
    values = np.asarray(raw, dtype=np.float64)
    if raw.dtype.kind == "i" and _is_wav(path):
        values = values / float(2 ** (8 * raw.dtype.itemsize - 1))
    strange = np.flatnonzero(~np.isfinite(values))
    if strange.size:
        raise InputError(
            path.name,
            place=f"sample {strange[0] + 1}",
            expected="a number",
            found=str(raw[strange[0]]),
            do="Cut out the part without numbers.",
        )
    if values.size and float(np.abs(values).max()) > 1e12:
        raise InputError(path.name, expected="volts or amperes", found=f"{np.abs(values).max():.3g}")
    return Waveform(values, _rate(path, clock, values.size), names[0])


def _is_wav(path: Path) -> bool:
    with path.open("rb") as file:
        return wav_file.looks_like(unpacked_head(file.read(4096)))


def _rate(path: Path, clock: Clock, count: int) -> float:
    if count < 2:
        raise InputError(path.name, expected="samples", found=f"{count}", do="Record the current over a few closings.")
    at = np.linspace(0, count - 1, min(count, 2000)).astype(np.int64).astype(np.float64)
    times = np.asarray(clock.seconds(at))
    interval = float((times[-1] - times[0]) / (at[-1] - at[0]))
    if not (np.isfinite(interval) and interval > 0):
        raise InputError(path.name, expected="times that rise", found=f"an interval of {interval:g} s")
    apart = float(np.abs(times - times[0] - (at - at[0]) * interval).max())
    if apart > max(1.0, MOST_IRREGULAR * count) * interval:
        raise InputError(
            path.name,
            expected="even sampling",
            found=f"samples up to {apart / interval:.3g} intervals off",
            do="Record at a fixed rate, without gaps.",
        )
    return 1 / interval
