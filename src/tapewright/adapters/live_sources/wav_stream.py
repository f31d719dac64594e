"""The head of a WAV stream that cannot be gone back in: a pipe, or a file that is still being written."""

import struct
from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt

from tapewright.adapters.capture_files.wav_file import SAMPLE_TYPES, Layout, decoder, describe
from tapewright.errors import InputError

#: chunks before the samples that are longer than this are no head of a recording
LONGEST_CHUNK = 1 << 20

Decode = Callable[[bytes], npt.NDArray[Any]]


def read_head(read: Callable[[int], bytes], source: str) -> tuple[Layout, int | None]:
    """Read up to the first sample; `read(n)` gives n bytes, fewer only at the end.

    Returns:
        the layout, and how many bytes of samples the head promises; None when it leaves that open.

    Raises:
        InputError: when it is no WAV stream, or one that cannot be read.
    """
    mark = read(12)
    if mark[:4] not in (b"RIFF", b"RF64") or mark[8:12] != b"WAVE":
        raise InputError(
            source,
            place="byte 0",
            expected="the head of a WAV stream",
            found=repr(bytes(mark[:12])),
            do="For samples without a head say --raw and --rate.",
        )
    at, described = 12, None
    while True:
        chunk = read(8)
        if len(chunk) < 8:
            raise InputError(source, place=f"byte {at}", expected="a data chunk", found="the end")
        name, (length,) = chunk[:4], struct.unpack("<I", chunk[4:])
        if name == b"data":
            break
        if length > LONGEST_CHUNK:
            raise InputError(source, place=f"byte {at}", expected="a short chunk", found=f"one of {length} bytes")
        body = read(length + (length & 1))
        if name == b"fmt ":
            described = describe(body[:64], source, at)
        at += 8 + len(body)
    if described is None:
        raise InputError(source, place=f"byte {at}", expected="a fmt chunk before the data", found="none")
    kind, channels, rate, bits = described
    open_end = length in (0, 0xFFFFFFFF)
    layout = Layout(SAMPLE_TYPES[kind, bits], bits, channels, rate, at + 8, 0, ())
    return layout, None if open_end else length


def frames_of(layout: Layout, channel: int) -> tuple[int, Decode]:
    """Give the bytes of a frame, and what makes samples of one channel, shape (n,), of whole frames."""
    decode = decoder(layout)
    return layout.channels * layout.bits // 8, lambda data: np.ascontiguousarray(decode(data)[:, channel])
