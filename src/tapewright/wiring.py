"""The only file that knows which adapter serves which port."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tapewright.core.magnet.plan import Request


def drive_file(path: Path | None, options: Mapping[str, Any]) -> "Request":
    """Read a drive file and the options above it into a request."""
    from tapewright.adapters.drive_file import read_sections, request_from

    return request_from(read_sections(path, options))
