"""Read a bundle without trusting a byte of it: first its envelope, then every hash, only then what it says.

    file  >  a zip, whole?  >  names, kinds, lengths within limits?  >  manifest  >  every member's length and SHA-256

Nothing is ever unpacked to disk: members are read as streams, so there is no folder to escape from. The names are
checked all the same, because people unpack bundles with other tools.
"""

import hashlib
import io
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import IO, BinaryIO, cast

from tapewright.book.bundle.envelope import NOTHING_DONE, check_end, check_members
from tapewright.book.bundle.manifest import Manifest, Member, read_manifest
from tapewright.book.bundle.members import MANIFEST, NEEDED, Limits, sha256_of
from tapewright.errors import InputError

PIECE_BYTES = 1024 * 1024
#: what the zip library raises on a zip that is not what it says
#: (OSError: a directory that points before the beginning of the file)
BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, ValueError, OverflowError, OSError, struct.error)


class ZipReader:
    """One bundle, open for reading; use it in a `with`.

    Attributes:
        path: the file.
        manifest: what it says of itself; every member is there, and no other.

    Raises:
        InputError: when it is no bundle, or one beyond the limits.
    """

    def __init__(self, path: Path, limits: Limits | None = None) -> None:
        self.path, self.limits = path, limits or Limits()
        self._file = path.open("rb")
        try:
            check_end(self._file, str(path), self.limits)
            with self._plainly("the list of its files"):
                self._archive = zipfile.ZipFile(self._file)
            self._infos = check_members(self._archive, str(path), self.limits)
            self.manifest = self._manifest()
        except BaseException:
            self._file.close()
            raise

    def __enter__(self) -> "ZipReader":
        """Return itself."""
        return self

    def __exit__(self, *_: type[BaseException] | BaseException | TracebackType | None) -> None:
        """Close the file."""
        self._archive.close()
        self._file.close()

    def open(self, name: str) -> BinaryIO:
        """Open a member for reading; what is broken in it is said as an InputError."""
        with self._plainly(name):
            stream = self._archive.open(self._infos[name])
        return cast(BinaryIO, io.BufferedReader(_Checked(stream, partial(self._plainly, name)), PIECE_BYTES))

    def check_hashes(self) -> Iterator[int]:
        """Read every member and hold it against the manifest; give the bytes read so far.

        Raises:
            InputError: at the first that is not what the manifest says.
        """
        done = 0
        for member in self.manifest.members:
            digest, length = hashlib.sha256(), 0
            with self.open(member.name) as stream:
                while piece := stream.read(PIECE_BYTES):
                    digest.update(piece)
                    length += len(piece)
                    done += len(piece)
                    yield done
            self._same(member, digest.hexdigest(), length)

    def _same(self, member: Member, sha256: str, length: int) -> None:
        if length != member.bytes:
            raise self._refusal(member.name, f"{member.bytes} bytes, as the manifest says", f"{length}")
        named = sha256_of(member.name) or member.sha256
        if sha256 != member.sha256 or sha256 != named:
            raise self._refusal(member.name, f"the fingerprint {named}", f"{sha256}: the file was altered or damaged")

    def _manifest(self) -> Manifest:
        info = self._infos.get(MANIFEST)
        if info is None:
            raise self._refusal("", f"a bundle with a {MANIFEST}", "a zip without one")
        if info.file_size > self.limits.manifest_bytes:
            raise self._refusal(MANIFEST, f"at most {self.limits.manifest_bytes} bytes", f"{info.file_size}")
        with self.open(MANIFEST) as stream:
            data = stream.read()
        try:
            manifest = read_manifest(data)
        except ValueError as problem:
            expected, _, found = str(problem).partition("|")
            raise self._refusal(MANIFEST, expected, found) from problem
        self._same_names(manifest)
        return manifest

    def _same_names(self, manifest: Manifest) -> None:
        listed = [member.name for member in manifest.members]
        if len(set(listed)) != len(listed):
            raise self._refusal(MANIFEST, "every member once", "one that stands there twice")
        there = set(self._infos) - {MANIFEST}
        for name in sorted(there - set(listed)):
            raise self._refusal(name, "only files that the manifest lists", "one that it does not")
        for name in [*sorted(set(listed) - there), *(name for name in NEEDED if name not in there)]:
            raise self._refusal(name, "every file that a bundle has and its manifest lists", "none of this name")

    def _refusal(self, place: str, expected: str, found: str) -> InputError:
        return InputError(str(self.path), place=place, expected=expected, found=found, do=NOTHING_DONE)

    @contextmanager
    def _plainly(self, place: str) -> Iterator[None]:
        try:
            yield
        except BROKEN as problem:
            words = " ".join(str(problem).split()) or type(problem).__name__
            raise self._refusal(place, "a zip that is whole", words) from problem


class _Checked(io.RawIOBase):
    """Reads one member; turns what the zip library raises into a refusal."""

    def __init__(self, stream: IO[bytes], plainly: Callable[[], AbstractContextManager[None]]) -> None:
        self._stream, self._plainly = stream, plainly

    def readable(self) -> bool:
        """It can be read."""
        return True

    def readinto(self, buffer: memoryview) -> int:  # type: ignore[override] # the library's own type is a union
        """Read some bytes; 0 at the end."""
        with self._plainly():
            piece = self._stream.read(len(buffer))
        buffer[: len(piece)] = piece
        return len(piece)

    def close(self) -> None:
        """Close the member."""
        if not self.closed:
            self._stream.close()
        super().close()
