"""A file that grows, or a pipe: WAV with its head, or raw samples whose rate is told."""

import os
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from tapewright.errors import InputError, WrongUseError
from tapewright.recordings.capture import Suspicion
from tapewright.recordings.live.asked import Asked
from tapewright.recordings.live.byte_stream import ByteStream, Decode, frames_of, read_head
from tapewright.recordings.live.source import Piece, SamplePiece

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


def _raw(data: bytes, kind: np.dtype[Any]) -> npt.NDArray[Any]:
    return np.frombuffer(data, kind).astype(kind.newbyteorder("="), copy=False)


def open_source(asked: Asked) -> FileSource:
    """Open it."""
    return FileSource(asked)


def readable(where: str) -> bool:
    """Return whether there is such a file."""
    return where == "-" or os.path.exists(where)
