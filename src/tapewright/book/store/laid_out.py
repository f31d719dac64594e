"""Raw files of the book laid out on disk, for programs that read files.

A file on disk as one that goes into the book.
"""

import hashlib
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

from tapewright.book.keep_result import RawFile
from tapewright.book.ports import Book
from tapewright.gauges.files.on_disk import BUILT_IN, sheet_bytes
from tapewright.recordings.files.on_disk import sha256 as fingerprint


@contextmanager
def laid_out(book: Book, sources: list[Mapping[str, Any]]) -> Iterator[dict[str, Path]]:
    """Return where each raw file lies, by what it is; they are gone afterwards.

    Each lies under its own name in a folder of its own, for a name may tell the format. A name that came from elsewhere
    and leads out of the folder is cut to its last part.

    Raises:
        InputError: when the book lacks one.
    """
    with tempfile.TemporaryDirectory(prefix="tapewright-") as scratch:
        files = {}
        for place, source in enumerate(sources):
            folder = Path(scratch) / str(place)
            folder.mkdir()
            file = folder / _bare(str(source.get("name", "")))
            with book.raw(str(source["sha256"])) as stored, file.open("wb") as out:
                shutil.copyfileobj(stored, out)
            files[str(source.get("role", place))] = file
        yield files


def _bare(name: str) -> str:
    bare = PureWindowsPath(PurePosixPath(name).name).name.replace("\0", "")
    return bare if bare not in ("", ".", "..") else "file"


def raw_file(role: str, path: Path, sha256: str | None = None) -> RawFile:
    """Return the file under its bare name; a sheet that comes with the program goes in with its content.

    Args:
        role: what the measuring calls it.
        path: where it lies.
        sha256: its fingerprint when it is known already.
    """
    if role == "sheet" and not path.exists() and str(path) in BUILT_IN:
        content = sheet_bytes(str(path))
        return RawFile(role, f"{path}.toml", hashlib.sha256(content).hexdigest(), content)
    return RawFile(role, path.name, sha256 or fingerprint(path), path)
