"""Write a bundle: members one after the other, hashed as they go by, the manifest last; the same book, the same bytes.

Nothing that changes from one export to the next goes in: every member has the date 1980-01-01 (the first a zip can
hold), the same rights, and the order is fixed. The file appears under its name only when it is whole.

Bundles as zip files: written the same to the byte each time, read without trusting a byte.
"""

import hashlib
import os
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from tapewright.book.bundle.manifest import Member
from tapewright.book.bundle.members import Limits
from tapewright.errors import InputError

FIRST_DATE = (1980, 1, 1, 0, 0, 0)
REGULAR_FILE = 0o100644 << 16
UNIX = 3
LEVEL = 6
#: a member may become larger than this before its length is known, and then needs the longer header
NEEDS_ZIP64 = 2**31


class ZipWriter:
    """Writes one bundle.

    Attributes:
        members: what was written so far.
        too_dense: members that packed better than a reader would believe; written again they must be stored.
    """

    def __init__(self, archive: zipfile.ZipFile, limits: Limits, stored: frozenset[str]) -> None:
        self.members: list[Member] = []
        self.too_dense: set[str] = set()
        self._archive, self._limits, self._stored = archive, limits, stored

    def add(self, name: str, pieces: Iterable[bytes], *, length: int = 0) -> Member:
        """Write one member from its pieces.

        Args:
            name: its name.
            pieces: its bytes.
            length: how long it will be, as far as known; decides only the form of its header.
        """
        info = zipfile.ZipInfo(name, FIRST_DATE)
        info.external_attr, info.create_system = REGULAR_FILE, UNIX
        info.compress_type = zipfile.ZIP_STORED if name in self._stored else zipfile.ZIP_DEFLATED
        digest, written = hashlib.sha256(), 0
        with self._archive.open(info, "w", force_zip64=length >= NEEDS_ZIP64) as out:
            for piece in pieces:
                digest.update(piece)
                written += len(piece)
                out.write(piece)
        if written > self._limits.ratio_from_bytes and written > self._limits.ratio * info.compress_size:
            self.too_dense.add(name)
        member = Member(name, written, digest.hexdigest())
        self.members.append(member)
        return member


@contextmanager
def new_bundle(path: Path, limits: Limits, stored: frozenset[str]) -> Iterator[ZipWriter]:
    """Write a bundle beside its place and move it there when it is whole; on any trouble nothing is left.

    Raises:
        InputError: when the folder is not there, or the disk does not take it.
    """
    if not path.absolute().parent.is_dir():
        raise InputError(str(path), expected="a folder that is there", found=f"no folder {path.absolute().parent}")
    half = path.with_name(f".{path.name}.{os.getpid()}.half")
    try:
        with half.open("xb") as file:
            with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=LEVEL) as archive:
                writer = ZipWriter(archive, limits, stored)
                yield writer
            file.flush()
            os.fsync(file.fileno())
        if not writer.too_dense:
            os.replace(half, path)
    except OSError as problem:
        raise InputError(
            str(path),
            expected="a disk that takes the bundle",
            found=problem.strerror or str(problem),
            do="Nothing was written.",
        ) from problem
    finally:
        half.unlink(missing_ok=True)
