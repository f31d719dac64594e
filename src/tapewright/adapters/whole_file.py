"""A file written whole or not at all."""

import os
import secrets
from pathlib import Path


def write_whole(path: Path, content: bytes | str) -> None:
    """Write beside the file first, then put it in its place in one step; text as UTF-8.

    Raises:
        OSError: what the system refuses, with the file's name; what stood there before still does.
    """
    beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        beside.write_bytes(content.encode() if isinstance(content, str) else content)
        os.replace(beside, path)
    except OSError as refused:
        # a full disk is found while writing, which names no file; else it is that of the unfinished one
        refused.filename, refused.filename2 = str(path), None
        raise
    finally:
        beside.unlink(missing_ok=True)
