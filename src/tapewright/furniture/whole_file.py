"""A file written whole or not at all."""

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def whole(path: Path) -> Iterator[Path]:
    """Return a file beside this one to write to; once it is written it takes its place in one step.

    Raises:
        OSError: what the system refuses, with the file's name; what stood there before still does.
    """
    beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        yield beside
        os.replace(beside, path)
    except OSError as refused:
        # a full disk is found while writing, which names no file; else it is that of the unfinished one
        refused.filename, refused.filename2 = str(path), None
        raise
    finally:
        beside.unlink(missing_ok=True)


def write_whole(path: Path, content: bytes | str) -> None:
    """Write content, text as UTF-8; raises as `whole` does."""
    with whole(path) as beside:
        beside.write_bytes(content.encode() if isinstance(content, str) else content)
