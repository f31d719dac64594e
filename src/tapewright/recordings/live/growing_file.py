r"""A file that grows, or a pipe, and its bytes as they come.

A file that grows, or a pipe: WAV with its head, or raw samples whose rate is told.

Bytes as they come: a file, one that grows, a named pipe, the standard input; nobody waits long for them.

read gives   bytes   there was something
             b""     nothing yet; ask again
             None    the end: the file is over and is not followed, or the writer of a pipe has gone

The head of a WAV stream that cannot be gone back in: a pipe, or a file that is still being written.
"""

import os
import select
import stat
import struct
import sys
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import BinaryIO

import numpy as np

from tapewright.errors import InputError, WrongUseError
from tapewright.recordings.capture import NumberType, Samples, Suspicion
from tapewright.recordings.files.wav_file import SAMPLE_TYPES, Layout, decoder, describe
from tapewright.recordings.live.asked import Asked
from tapewright.recordings.live.source import Piece, SamplePiece

#: how long is waited for more before the keyboard is looked at again
WAIT_S = 0.02


class ByteStream:
    """One stream of bytes.

    Args:
        where: a file's name, or - for the standard input.
        follow: wait for more at the end.

    Raises:
        OSError: when it cannot be opened.
    """

    def __init__(self, where: str, *, follow: bool) -> None:
        self._follow, self._heard, self.closed = follow, False, False
        self._pipe = where != "-" and Path(where).is_fifo()
        self._file: BinaryIO = _opened(where, pipe=self._pipe)
        self._asked_first = _can_be_asked(self._file)

    def read(self, most: int) -> bytes | None:
        """Return at most so many bytes."""
        if self.closed:
            return None
        if self._asked_first and not select.select([self._file], [], [], WAIT_S)[0]:
            return b""
        raw = self._once(most)
        if raw:
            self._heard = True
            return raw
        # a named pipe that nobody writes to yet is not over
        if self._follow or raw is None or (self._pipe and not self._heard):
            time.sleep(WAIT_S)
            return b""
        return None

    def exactly(self, count: int, patience_s: float | None = None) -> bytes:
        """Return so many bytes; fewer only at the end, or when no more came for so long."""
        data, since = b"", time.monotonic()
        while len(data) < count:
            more = self.read(count - len(data))
            if more is None or (not more and patience_s is not None and time.monotonic() - since > patience_s):
                break
            since = time.monotonic() if more else since
            data += more
        return data

    def close(self) -> None:
        """Close it; the standard input is not ours to close."""
        if not self.closed and self._file is not sys.stdin.buffer:
            self._file.close()
        self.closed = True

    def _once(self, most: int) -> bytes | None:
        """Read what is there; None when that is nothing, though a writer is there."""
        if self._asked_first:  # past the buffer: what waits in that, the system does not tell of
            return os.read(self._file.fileno(), most)
        # a pipe gives what it has, without waiting for more
        read = getattr(self._file, "read1", self._file.read)
        raw: bytes | None = read(most)
        return raw


def _opened(where: str, *, pipe: bool) -> BinaryIO:
    if where == "-":
        return sys.stdin.buffer
    if pipe:  # opening must not wait for a writer, nor reading for its words
        return os.fdopen(os.open(where, os.O_RDONLY | os.O_NONBLOCK), "rb", buffering=0)
    return Path(where).open("rb")


def _can_be_asked(file: BinaryIO) -> bool:
    """Return whether the system tells if a read would wait: pipes and terminals, not on Windows."""
    if os.name == "nt":
        return False
    try:
        kind = os.fstat(file.fileno()).st_mode
    except (OSError, ValueError, AttributeError):
        return False
    return file is sys.stdin.buffer and not stat.S_ISREG(kind)


#: chunks before the samples that are longer than this are no head of a recording
LONGEST_CHUNK = 1 << 20

Decode = Callable[[bytes], Samples]


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
    """Return the bytes of a frame, and what makes samples of one channel, shape (n,), of whole frames."""
    decode = decoder(layout)
    return layout.channels * layout.bits // 8, lambda data: np.ascontiguousarray(decode(data)[:, channel])


KIND = "file"
WHAT = "a file that grows, or a pipe (-): WAV, or raw samples with --raw and --rate"
EXAMPLE = "file:capture.wav"
#: at most so much of a file at once
PIECE_BYTES = 1 << 16
#: --raw -> numpy type of a sample
RAW: dict[str, str] = {"u8": "u1", "s16": "<i2", "s32": "<i4", "f32": "<f4", "logic": "?"}


def unavailable() -> str:
    """It is always there."""
    return ""


def found() -> tuple[str, ...]:
    """Name the pipe."""
    return ("-",)


class FileSource:
    """Bytes as they come, made samples."""

    suspicions: tuple[Suspicion, ...] = ()

    def __init__(self, asked: Asked) -> None:
        """Open the file and read its head.

        Raises:
            InputError: when the head cannot be read.
            WrongUseError: when what is needed was not said.
        """
        where = asked.must_say_where(KIND, EXAMPLE)
        self._stream = ByteStream(where, follow=asked.follow)
        self._name = "standard input" if where == "-" else Path(where).name
        regular = where != "-" and Path(where).is_file() and not asked.follow
        self.whole_file: Path | None = Path(where) if regular and asked.raw is None else None
        self._follow, self._rest = asked.follow, b""
        try:
            self._frame, self._decode, self.rate_hz, kind, self._left = self._begin(asked)
        except (InputError, WrongUseError):
            self._stream.close()
            raise
        self.what = f"{self._name}, {kind}, {self.rate_hz:g} samples a second"

    def pieces(self) -> Iterator[Piece]:
        """Return samples as they come, nothing when nothing comes; ends with the file, unless it is followed."""
        while (raw := self._some()) is not None:
            data = self._rest + raw
            whole = len(data) // self._frame * self._frame
            self._rest = data[whole:]
            yield SamplePiece(self._decode(data[:whole]))

    def close(self) -> None:
        """Close the file."""
        self._stream.close()

    def _begin(self, asked: Asked) -> tuple[int, Decode, float, str, int | None]:
        if asked.raw is not None:
            if asked.rate_hz is None:
                raise WrongUseError("--raw needs --rate: raw samples do not say how many there are in a second.")
            kind = np.dtype(RAW[asked.raw])
            return kind.itemsize, lambda data: _raw(data, kind), asked.rate_hz, f"raw {asked.raw}", None
        layout, promised = read_head(partial(self._stream.exactly, patience_s=asked.patience_s), self._name)
        channel = (asked.channel or 1) - 1
        if channel >= layout.channels:
            expected, found = f"channel 1 to {layout.channels}", f"--channel {channel + 1}"
            raise InputError(self._name, expected=expected, found=found)
        frame, decode = frames_of(layout, channel)
        # a head that was written before the end was known promises too little or nothing: then all that comes counts
        return frame, decode, float(layout.rate_hz), f"wav, {layout.bits} bit", None if self._follow else promised

    def _some(self) -> bytes | None:
        """Read what is there; None at the end."""
        wanted = PIECE_BYTES if self._left is None else min(PIECE_BYTES, self._left)
        raw = self._stream.read(wanted) if wanted else None
        if self._left is not None and raw:
            self._left -= len(raw)
        return raw


def _raw(data: bytes, kind: NumberType) -> Samples:
    return np.frombuffer(data, kind).astype(kind.newbyteorder("="), copy=False)


def open_source(asked: Asked) -> FileSource:
    """Open it."""
    return FileSource(asked)


def readable(where: str) -> bool:
    """Return whether there is such a file."""
    return where == "-" or os.path.exists(where)
