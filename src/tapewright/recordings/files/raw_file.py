r"""Raw samples without any header: one byte a sample, or one bit a sample. The rate must be told.

Picture: which of three layouts it is, seen from the bytes themselves

    one byte a sample     00 00 00 01 01 01      two values, or the many of an 8-bit converter
    one bit a sample      00 00 1F FF FF F8      all or nothing but at edges, and there a run that goes on
    a bit a channel       05 05 04 04 0C 0C      few values, one or two bits change at a time

In bytes of eight samples the edge shows which end is first: 1F (low bits set) between 00 and FF means the high bit is
the oldest, F8 the low bit. Raw files are tried last, and only when a rate is given: any bytes at all could be one.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
import numpy.typing as npt

from tapewright.errors import InputError
from tapewright.recordings.capture import Recording, Samples, Suspicion
from tapewright.recordings.edges.clock import RegularClock
from tapewright.recordings.files.options import Options, pick_channels
from tapewright.recordings.files.samples import record_samples

NAME = "raw"
LABEL, NEEDS_RATE = "raw samples", True
WHAT = "raw samples, 8 bits each, or bit-packed logic (one channel, or eight side by side); needs --rate"
LOOKED_AT = 1 << 24
Bytes = npt.NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Layout:
    """How the bytes are to be taken.

    Attributes:
        what: in words.
        samples_a_byte: 1 or 8.
        channels: 1 or 8.
        oldest_first: "big" when the high bit is the oldest of eight samples, else "little".
    """

    what: str
    samples_a_byte: int = 1
    channels: int = 1
    oldest_first: str = "big"


def looks_like(head: bytes) -> bool:
    """Return whether `head` could be raw samples: anything can."""
    return len(head) > 0


def read(path: Path, options: Options) -> tuple[Recording, ...]:
    """Read every channel, or the one asked for."""
    size = path.stat().st_size
    with path.open("rb") as file:
        layout = find_layout(np.frombuffer(file.read(LOOKED_AT), np.uint8))
        names = ["1"] if layout.channels == 1 else [str(number) for number in range(1, 9)]
        chosen = pick_channels(names, options.channel, path.name)
        if options.rate_hz is None:
            raise InputError(path.name, expected="a sample rate", found="none", do="Say it with --rate.")
        said = Suspicion(
            "raw file, layout not stated",
            f"taken as {layout.what}, from the bytes themselves",
            "Export with a header (WAV, VCD, CSV) if the text that comes out makes no sense.",
        )
        return record_samples(
            _RawReader(file, layout, chosen, size * layout.samples_a_byte),
            RegularClock(1 / options.rate_hz),
            kind=f"raw, {layout.what}",
            names=names,
            chosen=chosen,
            options=options,
            suspicions=(said,),
        )


class _RawReader:
    """Samples of some channels."""

    def __init__(self, file: BinaryIO, layout: Layout, chosen: list[int], count: int) -> None:
        self.count, self.channels = count, len(chosen)
        self._file, self._layout, self._chosen = file, layout, chosen

    def read(self, first: int, count: int) -> list[Samples]:
        each = self._layout.samples_a_byte
        begin, end = first // each, -(-(first + count) // each)
        self._file.seek(begin)
        raw = np.frombuffer(self._file.read(end - begin), np.uint8)
        if each == 8:
            order: Any = self._layout.oldest_first
            bits = np.unpackbits(raw, bitorder=order)
            return [bits[first - begin * 8 :][:count]]
        if self._layout.channels == 1:
            return [raw]
        return [(raw >> np.uint8(bit)) & np.uint8(1) for bit in self._chosen]

    def close(self) -> None:
        """Whoever opened the file closes it."""


def find_layout(raw: Bytes) -> Layout:
    """Find out how the bytes are to be taken."""
    counts = np.bincount(raw, minlength=256)
    values = np.flatnonzero(counts)
    if values.size <= 2:
        return Layout("one byte a sample, logic")
    full = (counts[0] + counts[255]) / raw.size
    runs = [value for value in values.tolist() if _one_step(value)]
    if full > 0.5 and counts[0] and counts[255] and counts[runs].sum() > 0.5 * (raw.size - counts[0] - counts[255]):
        return Layout("one bit a sample", samples_a_byte=8, oldest_first=_oldest_first(raw))
    if _is_channels(raw, values):
        return Layout("a bit a channel", channels=8)
    return Layout("one byte a sample, 8-bit converter")


def _one_step(value: int) -> bool:
    """Return whether the eight bits hold one change of level, no more and no less."""
    return bin(value ^ (value >> 1) & 0x7F).count("1") - (value >> 7) == 1 and value not in (0, 255)


def _oldest_first(raw: Bytes) -> str:
    """Tell by the edges: between 00 and FF the bits that are set belong to the FF side."""
    middle = raw[1:-1]
    rising = (raw[:-2] == 0) & (raw[2:] == 255)
    falling = (raw[:-2] == 255) & (raw[2:] == 0)
    low_set = (middle & 1 == 1) & (middle < 128)
    high_set = (middle & 1 == 0) & (middle >= 128)
    big = np.count_nonzero(rising & low_set) + np.count_nonzero(falling & high_set)
    little = np.count_nonzero(rising & high_set) + np.count_nonzero(falling & low_set)
    return "little" if little > big else "big"


def _is_channels(raw: Bytes, values: npt.NDArray[np.intp]) -> bool:
    """Few values, that change by a bit or two and then stay: a byte of channels, not a converter."""
    moved = raw[1:] ^ raw[:-1]
    changes = np.count_nonzero(moved)
    if not changes or values.size > 64:
        return False
    single = np.count_nonzero(np.isin(moved, (1 << np.arange(8)).astype(np.uint8)))
    # a converter at rest wanders up and down by a step or two all the time
    return bool(changes < 0.2 * raw.size and single > 0.7 * changes and values.size <= 32)
