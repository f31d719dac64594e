"""Raw files of a book, stored in pieces: a file goes in whole or not at all, and comes out piece by piece."""

import hashlib
import io
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO, cast

from sqlalchemy import Connection, Engine, insert, select

from tapewright.book.ports import RawSource
from tapewright.book.store.tables import FILES, PIECES
from tapewright.errors import InputError

PIECE_BYTES = 4 * 1024 * 1024


def store(connection: Connection, said: str, sha256: str, source: RawSource) -> None:
    """Store one file in the open transaction; one that is there already is passed over.

    Raises:
        InputError: when the bytes are not what the fingerprint says.
    """
    if connection.execute(select(FILES.c.sha256).where(FILES.c.sha256 == sha256)).first():
        return
    # the row comes first, for the pieces to refer to; its length is set when it is known
    connection.execute(insert(FILES).values(sha256=sha256, bytes=0))
    found, length = hashlib.sha256(), 0
    with _opened(source) as stream:
        for place, piece in enumerate(_pieces(stream)):
            found.update(piece)
            length += len(piece)
            connection.execute(insert(PIECES).values(sha256=sha256, place=place, piece=piece))
    if found.hexdigest() != sha256:
        name = str(source) if isinstance(source, Path) else "raw file"
        raise InputError(
            name,
            expected=f"the bytes with the SHA-256 fingerprint {sha256}",
            found=found.hexdigest(),
            do=f"The file changed while it was read. Nothing was written to {said}.",
        )
    connection.execute(FILES.update().where(FILES.c.sha256 == sha256).values(bytes=length))


def open_raw(engine: Engine, said: str, sha256: str) -> BinaryIO:
    """Open a stored file.

    Raises:
        InputError: when the book has no such file.
    """
    with engine.connect() as connection:
        length = connection.execute(select(FILES.c.bytes).where(FILES.c.sha256 == sha256)).scalar()
    if length is None:
        raise InputError(said, expected=f"the raw file {sha256}", found="none with this fingerprint")
    return open_stored(engine, sha256, length)


def open_stored(engine: Engine, sha256: str, length: int) -> BinaryIO:
    """Open a stored file whose length is known."""
    return cast(BinaryIO, io.BufferedReader(_StoredFile(engine, sha256, length), PIECE_BYTES))


def _pieces(stream: BinaryIO) -> Iterator[bytes]:
    """Return pieces that are full but for the last, also from a stream that gives less than asked for."""
    while piece := stream.read(PIECE_BYTES):
        while len(piece) < PIECE_BYTES and (more := stream.read(PIECE_BYTES - len(piece))):
            piece += more
        yield piece


@contextmanager
def _opened(source: RawSource) -> Iterator[BinaryIO]:
    if isinstance(source, bytes):
        yield io.BytesIO(source)
    elif isinstance(source, Path):
        with source.open("rb") as stream:
            yield stream
    else:
        with source() as stream:
            yield stream


class _StoredFile(io.RawIOBase):
    """Reads a stored file, one piece in memory at a time."""

    def __init__(self, engine: Engine, sha256: str, length: int) -> None:
        self._engine, self._sha256, self._length = engine, sha256, length
        self._at, self._held = 0, (-1, b"")

    def readable(self) -> bool:
        """It can be read."""
        return True

    def seekable(self) -> bool:
        """It can be read from any place."""
        return True

    def tell(self) -> int:
        """Return the place of the next byte."""
        return self._at

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        """Go to a place."""
        base = {io.SEEK_SET: 0, io.SEEK_CUR: self._at, io.SEEK_END: self._length}[whence]
        self._at = max(0, base + offset)
        return self._at

    def readinto(self, buffer: memoryview) -> int:  # type: ignore[override] # the library's own type is a union
        """Read as much as one piece holds; 0 at the end."""
        if self._at >= self._length:
            return 0
        place, start = divmod(self._at, PIECE_BYTES)
        part = self._piece(place)[start : start + len(buffer)]
        buffer[: len(part)] = part
        self._at += len(part)
        return len(part)

    def _piece(self, place: int) -> bytes:
        if self._held[0] != place:
            wanted = select(PIECES.c.piece).where(PIECES.c.sha256 == self._sha256, PIECES.c.place == place)
            with self._engine.connect() as connection:
                piece = connection.execute(wanted).scalar()
            if piece is None:
                raise InputError(
                    f"raw file {self._sha256}",
                    expected=f"piece {place} of it",
                    found="none",
                    do="The book is damaged; restore the last backup.",
                )
            self._held = place, bytes(piece)
        return self._held[1]
