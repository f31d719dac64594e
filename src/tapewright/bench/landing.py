"""A file while it comes in: to a folder of its own, its fingerprint taken on the way, refused when too large."""

import hashlib
import re
import secrets
import shutil
import tempfile
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect

HEAD_BYTES = 65_536
LARGEST_BYTES = 4_000_000_000
LONGEST_NAME = 120
PIECE = 1 << 20
TOO_LARGE = f"A file may have at most {LARGEST_BYTES // 1_000_000:,} MB. Send a shorter piece."


@dataclass(slots=True)
class Landing:
    """A file while it comes in."""

    path: Path
    name: str
    size: int = 0
    head: bytes = b""
    digest: Any = field(default_factory=hashlib.sha256)

    def take(self, piece: bytes) -> None:
        """Take the next piece.

        Raises:
            HTTPException: 413 when it grows too large.
        """
        self.size += len(piece)
        if self.size > LARGEST_BYTES:
            raise HTTPException(413, TOO_LARGE)
        self.head = (self.head + piece)[:HEAD_BYTES] if len(self.head) < HEAD_BYTES else self.head
        self.digest.update(piece)


def own_folder(arrivals: Path, name: str) -> Landing:
    """Make a folder of its own for one file; what it is called cannot lead out of it."""
    folder = arrivals / secrets.token_hex(8)
    folder.mkdir(parents=True)
    return Landing(folder / tame(name), shown_name(name))


def tame(name: str) -> str:
    """Return a file name without anything that could be a path or a command."""
    kept = re.sub(r"[^A-Za-z0-9._-]+", "_", re.split(r"[/\\]", name)[-1]).lstrip(".")
    return kept[-LONGEST_NAME:] or "file"


def shown_name(name: str) -> str:
    """Return the name as it is shown: its last part, printable, not too long."""
    last = "".join(sign for sign in re.split(r"[/\\]", name)[-1] if sign.isprintable())
    return last[-LONGEST_NAME:] or "file"


def sweep_one(path: Path) -> None:
    """Take a file away with its folder."""
    shutil.rmtree(path.parent, ignore_errors=True)


def sweep_old(begins: str, older_s: float, now_s: float) -> None:
    """Take away what starts that were killed left in the folder for such things."""
    for folder in Path(tempfile.gettempdir()).glob(f"{begins}*"):
        if not folder.is_symlink() and folder.is_dir() and now_s - folder.stat().st_mtime > older_s:
            shutil.rmtree(folder, ignore_errors=True)


def sweep(arrivals: Path) -> None:
    """Empty the arrivals folder: what stands there was never acknowledged."""
    shutil.rmtree(arrivals, ignore_errors=True)
    arrivals.mkdir(parents=True, exist_ok=True)


async def land(landing: Landing, pieces: AsyncIterator[bytes]) -> None:
    """Write the pieces to disk as they come, off the event loop; keep nothing of a file that did not come whole."""
    try:
        with landing.path.open("wb") as file:
            waiting = bytearray()
            async for piece in pieces:
                waiting += piece
                if len(waiting) >= PIECE:
                    await run_in_threadpool(_write, file, landing, bytes(waiting))
                    waiting.clear()
            await run_in_threadpool(_write, file, landing, bytes(waiting))
    except (HTTPException, ClientDisconnect, OSError):
        sweep_one(landing.path)
        raise


def _write(file: Any, landing: Landing, piece: bytes) -> None:
    landing.take(piece)
    file.write(piece)
