"""The fingerprint of a file, so that a result can be tied to the evidence it came from."""

import hashlib
from collections.abc import Callable
from pathlib import Path

PIECE = 1 << 22


def sha256(path: str | Path, progress: Callable[[float], None] | None = None) -> str:
    """Give the SHA-256 (FIPS 180-4) of the file's bytes, in hexadecimal; reads it in pieces."""
    digest = hashlib.sha256()
    with Path(path).open("rb") as file:
        size = max(1, Path(path).stat().st_size)
        while piece := file.read(PIECE):
            digest.update(piece)
            if progress is not None:
                progress(min(1.0, file.tell() / size))
    return digest.hexdigest()
