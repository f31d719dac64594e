"""What the things a person does need from the outside world, as small protocols."""

from collections.abc import Callable
from pathlib import Path
from typing import Literal, Protocol

from tapewright.core.line.capture import Recording

Progress = Callable[[float], None]


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
        """Give one recording for each channel, or the one asked for."""
        ...

    def sha256(self, path: Path) -> str:
        """Give the fingerprint of the file's bytes."""
        ...
