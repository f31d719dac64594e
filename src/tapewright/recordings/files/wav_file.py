r"""WAV: sound as a sound card or a data logger records it.

Picture (all numbers little-endian; RF64 for over 4 GB, sizes then in ds64):

    "RIFF" size "WAVE"   "fmt " size  format channels rate bytes/s frame bits ...   "data" size  samples ...

The layout is that of the RIFF/WAVE document of 1991 and EBU Tech 3306 (RF64): from memory, checked in the tests
against files written by an independent library. A data size of nothing or of all ones, as streaming recorders
leave it, means: to the end of the file.
"""

import os
import struct
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np

from tapewright.errors import InputError
from tapewright.recordings.capture import Recording, Samples, Suspicion
from tapewright.recordings.edges.clock import RegularClock
from tapewright.recordings.files.options import Options, pick_channels
from tapewright.recordings.files.samples import Decode, InterleavedFile, record_samples

NAME = "wav"
LABEL, NEEDS_RATE = "WAV", False
WHAT = "WAV sound: 8, 16, 24, 32 bit, float, any number of channels, also over 4 GB"

PCM, FLOAT, EXTENSIBLE = 1, 3, 0xFFFE
MOST_CHANNELS = 64
#: (format, bits) -> numpy type; 24 bit is unpacked by hand
SAMPLE_TYPES = {
    (PCM, 8): "<u1",
    (PCM, 16): "<i2",
    (PCM, 24): "24",
    (PCM, 32): "<i4",
    (FLOAT, 32): "<f4",
    (FLOAT, 64): "<f8",
}


@dataclass(slots=True)
class Layout:
    """What the chunks of the file say."""

    sample_type: str
    bits: int
    channels: int
    rate_hz: int
    offset: int
    frames: int
    suspicions: tuple[Suspicion, ...]


def looks_like(head: bytes) -> bool:
    """Return whether `head` is the beginning of a WAV file."""
    return head[:4] in (b"RIFF", b"RF64") and head[8:12] == b"WAVE"


def read(path: Path, options: Options) -> tuple[Recording, ...]:
    """Read every channel, or the one asked for."""
    with path.open("rb") as file:
        layout = read_layout(file, path.name)
    names = ["left", "right"] if layout.channels == 2 else [str(n) for n in range(1, layout.channels + 1)]
    chosen = pick_channels(names, options.channel, path.name)
    width = layout.bits // 8
    reader = InterleavedFile(path, layout.offset, width * layout.channels, layout.frames, decoder(layout), chosen)
    what = "float" if layout.sample_type.endswith(("f4", "f8")) else "bit"
    return record_samples(
        reader,
        RegularClock(1 / layout.rate_hz),
        kind=f"wav, {layout.bits} {what}",
        names=names,
        chosen=chosen,
        options=options,
        suspicions=layout.suspicions,
    )


def read_layout(file: BinaryIO, source: str) -> Layout:
    """Walk the chunks to the samples."""
    size = os.fstat(file.fileno()).st_size
    described: tuple[int, int, int, int] | None = None
    long_data: int | None = None
    at = 12
    while True:
        file.seek(at)
        mark = file.read(8)
        if len(mark) < 8:
            missing = "a data chunk" if described else "a fmt chunk"
            raise InputError(
                source,
                place=f"byte {at}",
                expected=missing,
                found="the end of the file",
                do="The file is cut short or damaged: copy it again.",
            )
        name, (length,) = mark[:4], struct.unpack("<I", mark[4:])
        if name == b"ds64":
            body = file.read(16)
            long_data = struct.unpack("<Q", body[8:16])[0] if len(body) == 16 else None
        elif name == b"fmt ":
            described = describe(file.read(min(length, 64)), source, at)
        elif name == b"data":
            break
        at += 8 + length + (length & 1)
    if described is None:
        raise InputError(source, place=f"byte {at}", expected="a fmt chunk before the data", found="none")
    if length == 0xFFFFFFFF and long_data is not None:
        length = long_data
    return _lay_out(described, at + 8, length, size)


def describe(body: bytes, source: str, at: int) -> tuple[int, int, int, int]:
    """Return format, channels, rate and bits out of a fmt chunk."""

    def no(expected: str, found: str) -> InputError:
        do = "Export the recording as 16-bit PCM."
        return InputError(source, place=f"fmt chunk at byte {at}", expected=expected, found=found, do=do)

    if len(body) < 16:
        raise no("16 bytes or more", f"{len(body)}")
    kind, channels, rate, _, frame, bits = struct.unpack("<HHIIHH", body[:16])
    if kind == EXTENSIBLE and len(body) >= 26:
        kind = struct.unpack("<H", body[24:26])[0]
    if (kind, bits) not in SAMPLE_TYPES:
        raise no("PCM of 8, 16, 24 or 32 bits, or float of 32 or 64", f"format {kind} with {bits} bits")
    if not 1 <= channels <= MOST_CHANNELS:
        raise no(f"1 to {MOST_CHANNELS} channels", str(channels))
    if rate == 0:
        raise no("a sample rate above zero", "0")
    if frame != channels * bits // 8:
        raise no(f"frames of {channels * bits // 8} bytes", f"{frame}")
    return kind, channels, rate, bits


def _lay_out(described: tuple[int, int, int, int], offset: int, length: int, size: int) -> Layout:
    """Set the length that the header claims against the length that is there."""
    kind, channels, rate, bits = described
    there = max(0, size - offset)
    frame = channels * bits // 8
    suspicions: tuple[Suspicion, ...] = ()
    if length in (0, 0xFFFFFFFF):
        length = there
    elif length > there:
        lost = (length - there) / frame / rate
        suspicions = (
            Suspicion(
                "recording cut short",
                f"the header promises {length} bytes of samples, {there} are there: {lost:.3g} s missing at the end",
                "Copy the file again, or read only what is there.",
            ),
        )
    return Layout(SAMPLE_TYPES[kind, bits], bits, channels, rate, offset, min(length, there) // frame, suspicions)


def decoder(layout: Layout) -> Decode:
    """Return the function from the bytes of frames to an array, shape (frames, channels)."""
    if layout.sample_type == "24":
        return lambda data: _unpack_24(data).reshape(-1, layout.channels)
    kind = np.dtype(layout.sample_type)
    return lambda data: (
        np.frombuffer(data, kind).astype(kind.newbyteorder("="), copy=False).reshape(-1, layout.channels)
    )


def _unpack_24(data: bytes) -> Samples:
    """Three bytes to one number of four, low byte first, the sign carried by the highest byte."""
    three = np.frombuffer(data, np.uint8).reshape(-1, 3)
    four = np.zeros((three.shape[0], 4), np.uint8)
    four[:, 1:] = three
    return four.view("<i4").reshape(-1) >> 8
