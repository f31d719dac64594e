"""The fingerprint of a file: SHA-256 of its bytes (FIPS 180-4), read in pieces."""

import hashlib
from pathlib import Path

PIECE = 1 << 20


def sha256(path: str | Path) -> str:
    """Give the SHA-256 of a file's bytes as 64 hexadecimal digits."""
    digest = hashlib.sha256()
    piece = bytearray(PIECE)
    view = memoryview(piece)
    with Path(path).open("rb", buffering=0) as file:
        while n := file.readinto(piece):
            digest.update(view[:n])
    return digest.hexdigest()
