"""Capture files on disk, by every format in the registry."""

from pathlib import Path
from typing import Literal

from tapewright.adapters.capture_files.fingerprint import sha256
from tapewright.adapters.capture_files.read import read_recordings
from tapewright.app.ports import Progress
from tapewright.core.line.capture import Recording


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
        """Give one recording for each channel, or the one asked for."""
        return read_recordings(path, channel=channel, rate_hz=rate_hz, threshold=threshold, progress=progress)

    def sha256(self, path: Path) -> str:
        """Give the fingerprint of the file's bytes."""
        return sha256(path)
