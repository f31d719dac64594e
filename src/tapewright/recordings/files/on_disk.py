"""Capture files on disk, by every format in the registry.

The fingerprint of a file, so that a result can be tied to the evidence it came from.
"""

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Literal, Protocol

from tapewright.furniture.record import Progress
from tapewright.recordings.capture import Recording
from tapewright.recordings.files.read import read_recordings

PIECE = 1 << 22


def sha256(path: str | Path, progress: Callable[[float], None] | None = None) -> str:
    """Return the SHA-256 (FIPS 180-4) of the file's bytes, in hexadecimal; reads it in pieces."""
    digest = hashlib.sha256()
    with Path(path).open("rb") as file:
        size = max(1, Path(path).stat().st_size)
        while piece := file.read(PIECE):
            digest.update(piece)
            if progress is not None:
                progress(min(1.0, file.tell() / size))
    return digest.hexdigest()


class CaptureFiles(Protocol):
    """Reads recorded captures."""

    def recordings(
        self,
        path: Path,
        *,
        channel: str | None,
        rate_hz: float | None,
        threshold: Literal["auto"] | tuple[float, ...],
        progress: Progress,
    ) -> tuple[Recording, ...]:
        """Return one recording for each channel, or the one asked for."""
        ...

    def sha256(self, path: Path) -> str:
        """Return the fingerprint of the file's bytes."""
        ...


class CaptureFilesOnDisk:
    """Reads recorded captures by file name."""

    def recordings(
        self,
        path: Path,
        *,
        channel: str | None,
        rate_hz: float | None,
        threshold: Literal["auto"] | tuple[float, ...],
        progress: Progress,
    ) -> tuple[Recording, ...]:
        """Return one recording for each channel, or the one asked for."""
        return read_recordings(path, channel=channel, rate_hz=rate_hz, threshold=threshold, progress=progress)

    def sha256(self, path: Path) -> str:
        """Return the fingerprint of the file's bytes."""
        return sha256(path)
