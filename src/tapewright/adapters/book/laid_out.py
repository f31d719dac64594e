"""Raw files of the book laid out on disk, for programs that read files."""

import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

from tapewright.app.ports import Book


@contextmanager
def laid_out(book: Book, sources: list[Mapping[str, Any]]) -> Iterator[dict[str, Path]]:
    """Give where each raw file lies, by what it is; they are gone afterwards.

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
