"""The only file that knows which adapter serves which port."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from tapewright.app.ports import CaptureFiles, Progress
    from tapewright.core.line.capture import Recording
    from tapewright.core.magnet.plan import Request


class _CaptureFilesOnDisk:
    """Capture files read from disk, by every format in the registry."""

    def recordings(
        self,
        path: Path,
        *,
        channel: str | None,
        rate_hz: float | None,
        threshold: Literal["auto"] | tuple[float, ...],
        progress: "Progress",
    ) -> "tuple[Recording, ...]":
        from tapewright.adapters.capture_files.read import read_recordings

        return read_recordings(path, channel=channel, rate_hz=rate_hz, threshold=threshold, progress=progress)

    def sha256(self, path: Path) -> str:
        from tapewright.adapters.capture_files.fingerprint import sha256

        return sha256(path)


def capture_files() -> "CaptureFiles":
    """Give what reads capture files."""
    return _CaptureFilesOnDisk()


def drive_file(path: Path | None, options: Mapping[str, Any]) -> "Request":
    """Read a drive file and the options above it into a request."""
    from tapewright.adapters.drive_file import read_sections, request_from

    return request_from(read_sections(path, options))
