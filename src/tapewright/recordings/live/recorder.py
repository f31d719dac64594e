"""Keep the raw signal of a watch: WAV or NPY for samples, CSV for edges.

What was written survives the end of the process, however it comes; a power cut takes the last seconds (to_disk).
A WAV's lengths are left open (all ones) until it is closed, which readers take as "to the end of the file".

Bring what was written to the disk itself, beside the line: a power cut then takes no more than the last seconds.

Flushing hands bytes to the system, which may keep them half a minute; only fsync waits for the disk. A slow card
needs a tenth of a second and more for it, so a thread of its own waits, and whoever follows the line does not.
"""

import contextlib
import os
import struct
import threading
import time
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import IO, Any, BinaryIO, Protocol

import numpy as np

from tapewright.errors import InputError, WrongUseError
from tapewright.recordings.capture import NumberType, Samples
from tapewright.recordings.live.source import EdgePiece, GapPiece, Piece, SamplePiece

#: what a power cut may take, s (owner's choice: a dozen characters, and a slow card is not kept busy)
EVERY_S = 5.0


class ToDisk:
    """Syncs a file every few seconds until closed.

    Args:
        file: open for writing; flushed by its owner.
        every_s: how often.
        sync: what brings a file to the disk.
    """

    def __init__(self, file: IO[Any], every_s: float = EVERY_S, sync: Callable[[int], None] = os.fsync) -> None:
        self._file, self._every_s, self._sync = file, every_s, sync
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._go_on, name="to the disk", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Sync for the last time; the file is closed by its owner, after this."""
        self._over.set()
        self._thread.join()
        self._once()

    def _go_on(self) -> None:
        while not self._over.wait(self._every_s):
            self._once()

    def _once(self) -> None:
        # a pipe or a folder of the network that cannot be synced is written all the same
        with contextlib.suppress(OSError, ValueError):
            self._sync(self._file.fileno())


def write_through(path: Path, text: str) -> None:
    """Write a small file so that it stands on the disk, its name too, when this returns."""
    with path.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    names_to_disk(path.parent)


def names_to_disk(folder: Path) -> None:
    """Bring to the disk which files a folder has, where the system knows of such a thing."""
    if hasattr(os, "O_DIRECTORY"):
        with contextlib.suppress(OSError):
            there = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
            try:
                os.fsync(there)
            finally:
                os.close(there)


#: a stretch that was not seen is kept as rest on the last level, this long when its length is not known
UNKNOWN_GAP_S = 0.25
OPEN_END = 0xFFFFFFFF
#: what was taken is handed to the system this often: a process that is killed loses no more
FLUSH_S = 0.5
NPY_HEAD = 128


class _Form(Protocol):
    """One file format."""

    def begin(self, file: BinaryIO, kind: NumberType, rate_hz: float) -> None: ...

    def end(self, file: BinaryIO, kind: NumberType, samples: int) -> None: ...


class _Wav:
    def begin(self, file: BinaryIO, kind: NumberType, rate_hz: float) -> None:
        form, bits = (3 if kind.kind == "f" else 1), kind.itemsize * 8
        rate = round(rate_hz)
        file.write(
            struct.pack(
                "<4sI4s4sIHHIIHH4sI",
                b"RIFF",
                OPEN_END,
                b"WAVE",
                b"fmt ",
                16,
                form,
                1,
                rate,
                rate * kind.itemsize,
                kind.itemsize,
                bits,
                b"data",
                OPEN_END,
            )
        )

    def end(self, file: BinaryIO, kind: NumberType, samples: int) -> None:
        length = samples * kind.itemsize
        if length + 36 < OPEN_END:
            file.seek(4)
            file.write(struct.pack("<I", length + 36))
            file.seek(40)
            file.write(struct.pack("<I", length))


class _Npy:
    def begin(self, file: BinaryIO, kind: NumberType, rate_hz: float) -> None:
        self.end(file, kind, 0)

    def end(self, file: BinaryIO, kind: NumberType, samples: int) -> None:
        said = f"{{'descr': {np.lib.format.dtype_to_descr(kind)!r}, 'fortran_order': False, 'shape': ({samples},), }}"
        file.seek(0)
        # version 1.0: magic, version, length of the head, head padded with spaces, newline
        file.write(b"\x93NUMPY\x01\x00" + struct.pack("<H", NPY_HEAD - 10) + said.ljust(NPY_HEAD - 11).encode() + b"\n")


_FORMS: dict[str, type[_Wav] | type[_Npy]] = {".wav": _Wav, ".npy": _Npy}


def mend_npy(path: Path) -> int:
    """Write the true length into the head of a recording that was not closed; give the samples it has.

    Raises:
        InputError: when it is no recording of ours.
    """
    try:
        with path.open("r+b") as file:
            version = np.lib.format.read_magic(file)
            shape, _, kind = np.lib.format.read_array_header_1_0(file)
            if version != (1, 0) or len(shape) != 1 or file.tell() != NPY_HEAD:
                raise ValueError(f"version {version}, shape {shape}")
            samples = (file.seek(0, 2) - NPY_HEAD) // kind.itemsize
            file.truncate(NPY_HEAD + samples * kind.itemsize)
            _Npy().end(file, kind, samples)
    except (OSError, ValueError) as problem:
        raise InputError(path.name, expected="a recording of a watch", found=str(problem)) from problem
    return samples


class Recorder:
    """Takes every piece of a source and writes it down.

    Args:
        path: the file; its name says the format.
        rate_hz: samples a second; None for a source of edges.

    Raises:
        WrongUseError: when the name and the source do not go together.
    """

    def __init__(self, path: Path, rate_hz: float | None) -> None:
        suffix = path.suffix.lower()
        if rate_hz is None and suffix != ".csv":
            raise WrongUseError(f"--record {path.name}: this source gives edges; the name must end in .csv.")
        if rate_hz is not None and suffix not in _FORMS:
            raise WrongUseError(f"--record {path.name}: the name must end in {' or '.join(_FORMS)}.")
        if suffix == ".wav" and rate_hz is not None and rate_hz != round(rate_hz):
            raise WrongUseError("--record: a WAV file needs a whole number of samples a second; use .npy.")
        self.path, self.samples = path, 0
        self._rate_hz = rate_hz
        self._form: _Form | None = _FORMS[suffix]() if rate_hz is not None else None
        self._kind: NumberType | None = None
        self._file: BinaryIO | None = path.open("wb")
        names_to_disk(path.parent)
        self._to_disk = ToDisk(self._file)
        self._last: Samples = np.zeros(1, np.int16)
        self._handed_over_at = time.monotonic()
        if self._form is None:
            self._file.write(b"time_s,level\n")

    def take(self, piece: Piece) -> None:
        """Write one piece."""
        if isinstance(piece, SamplePiece) and piece.samples.size:
            self._write(piece.samples)
        elif isinstance(piece, EdgePiece):
            rows = zip(piece.times_s.tolist(), piece.level_after.tolist(), strict=True)
            self._put("".join(f"{at:.9f},{int(high)}\n" for at, high in rows).encode())
        elif isinstance(piece, GapPiece) and self._kind is not None and self._rate_hz is not None:
            seconds = UNKNOWN_GAP_S if piece.seconds is None else piece.seconds
            self._write(np.repeat(self._last, round(seconds * self._rate_hz)))

    def close(self) -> None:
        """Write the lengths and close."""
        if self._file is not None:
            if self._form is not None and self._kind is not None:
                self._form.end(self._file, self._kind, self.samples)
            self._file.flush()
            self._to_disk.close()
            self._file.close()
            self._file = None

    def __enter__(self) -> "Recorder":
        """Return itself."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close."""
        self.close()

    def _write(self, samples: Samples) -> None:
        values = samples.view(np.uint8) if samples.dtype == np.bool_ else samples
        if self._kind is None and self._form is not None and self._file is not None:
            self._kind = values.dtype.newbyteorder("<")
            self._form.begin(self._file, self._kind, self._rate_hz or 0.0)
        if self._kind is not None:
            self._put(values.astype(self._kind, copy=False).tobytes())
            self.samples += values.size
            self._last = samples[-1:].copy()

    def _put(self, data: bytes) -> None:
        if self._file is None:
            return
        self._file.write(data)
        if time.monotonic() - self._handed_over_at > FLUSH_S:
            self._hand_over()

    def _hand_over(self) -> None:
        """Let the file stand as if it were closed: with a true length, where its head says one."""
        assert self._file is not None
        self._handed_over_at = time.monotonic()
        if isinstance(self._form, _Npy) and self._kind is not None:
            end = self._file.tell()
            self._form.end(self._file, self._kind, (end - NPY_HEAD) // self._kind.itemsize)
            self._file.seek(end)
        self._file.flush()
