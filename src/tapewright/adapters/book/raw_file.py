"""A file on disk as one that goes into the book."""

import hashlib
from pathlib import Path

from tapewright.adapters.capture_files.fingerprint import sha256 as fingerprint
from tapewright.adapters.sheet_files.files import BUILT_IN, sheet_bytes
from tapewright.app.record_evidence import RawFile


def raw_file(role: str, path: Path, sha256: str | None = None) -> RawFile:
    """Give the file under its bare name; a sheet that comes with the program goes in with its content.

    Args:
        role: what the measuring calls it.
        path: where it lies.
        sha256: its fingerprint when it is known already.
    """
    if role == "sheet" and not path.exists() and str(path) in BUILT_IN:
        content = sheet_bytes(str(path))
        return RawFile(role, f"{path}.toml", hashlib.sha256(content).hexdigest(), content)
    return RawFile(role, path.name, sha256 or fingerprint(path), path)
