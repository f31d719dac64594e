"""Export a book, or one machine of it, as a bundle: `book export`."""

import hashlib
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from functools import partial
from typing import IO, BinaryIO, Protocol

from tapewright.book.bundle.lines import (
    ENTRIES_HEAD,
    FILES_HEAD,
    MACHINES_HEAD,
    entry_row,
    line_of,
    machine_row,
    name_of_file,
    table_row,
)
from tapewright.book.bundle.manifest import Manifest, Member, Packed, manifest_bytes
from tapewright.book.bundle.members import (
    ENTRIES,
    ENTRIES_TABLE,
    FILES_TABLE,
    KEYS,
    LEFT_OUT,
    MACHINES_TABLE,
    MANIFEST,
    README,
    README_TEXT,
    SIGNATURES,
    raw_name,
)
from tapewright.book.entry import Entry
from tapewright.book.ports import Book
from tapewright.errors import InputError
from tapewright.furniture.record import Progress

PIECE_BYTES = 1024 * 1024
#: tables grow in memory up to this, then on disk
IN_MEMORY_BYTES = 8 * 1024 * 1024
#: marks a file as UTF-8 for spreadsheets
UTF8_MARK = b"\xef\xbb\xbf"


class Writer(Protocol):
    """Writes the members of one bundle."""

    members: list[Member]
    too_dense: set[str]

    def add(self, name: str, pieces: Iterable[bytes], *, length: int = 0) -> Member:
        """Write one member."""
        ...


class RawFiles(Protocol):
    """Where raw files come from."""

    def raw_files(self) -> Mapping[str, int]:
        """Return the fingerprints of raw files with their lengths."""
        ...

    def raw(self, sha256: str) -> BinaryIO:
        """Open one."""
        ...


#: opens a new bundle in which the named members are stored unpacked
NewBundle = Callable[[frozenset[str]], AbstractContextManager[Writer]]


@dataclass(frozen=True, slots=True)
class Lines:
    """The lines to export.

    Attributes:
        entries: gives them, oldest first, the same each time it is called.
        left_out: gives the text of lines that could be read but are not whole.
    """

    entries: Callable[[], Iterator[Entry]]
    left_out: Callable[[], Iterator[bytes]] = lambda: iter(())


@dataclass(frozen=True, slots=True)
class Exported:
    """What was written.

    Attributes:
        manifest: of the bundle.
        fingerprint: SHA-256 of the manifest, and so of all: what to read out over the telephone.
        raw_files: how many.
        bytes: all members unpacked.
    """

    manifest: Manifest
    fingerprint: str
    raw_files: int
    bytes: int


@dataclass(slots=True)
class _Seen:
    """What is found while the lines go by."""

    machines: dict[str, Packed] = field(default_factory=dict)
    keys: list[str] = field(default_factory=list)
    signatures: list[str] = field(default_factory=list)
    files: dict[str, tuple[str, str]] = field(default_factory=dict)


def lines_as_they_stand(book: Book, machine: str | None) -> Lines:
    """Return the lines of a book, or of a machine (its key), up to the newest one there is now; later ones are left."""
    return Lines(partial(book.read_through, machine, arrived=book.arrived()))


def export_book(book: RawFiles, lines: Lines, program: str, new_bundle: NewBundle, progress: Progress) -> Exported:
    """Write a bundle.

    Args:
        book: where raw files come from.
        lines: what to export.
        program: version that writes it.
        new_bundle: opens the bundle to write.
        progress: told how much is done.

    Raises:
        InputError: when the book is damaged, or the bundle cannot be written.
    """
    stored: frozenset[str] = frozenset()
    while True:
        with new_bundle(stored) as writer:
            exported = _write(book, lines, program, writer, progress)
        if not writer.too_dense:
            return exported
        stored |= writer.too_dense


def _write(book: RawFiles, lines: Lines, program: str, writer: Writer, progress: Progress) -> Exported:
    lengths = book.raw_files()
    seen = _Seen()
    with tempfile.SpooledTemporaryFile(IN_MEMORY_BYTES) as table:
        writer.add(ENTRIES, _lines(lines.entries(), seen, table))
        writer.add(KEYS, (f"{key}\n".encode() for key in seen.keys))
        chained = any(signature != "-" for signature in seen.signatures)
        if chained:
            writer.add(SIGNATURES, (f"{signature}\n".encode() for signature in seen.signatures))
        table.seek(0)
        writer.add(ENTRIES_TABLE, _with_head(ENTRIES_HEAD, iter(lambda: table.read(PIECE_BYTES), b"")))
    left_out = list(lines.left_out())
    if left_out:
        writer.add(LEFT_OUT, (line + b"\n" for line in left_out))
    machines = sorted(seen.machines.values(), key=lambda m: (m.name.casefold(), m.key))
    writer.add(MACHINES_TABLE, _with_head(MACHINES_HEAD, map(machine_row, machines)))
    writer.add(FILES_TABLE, _with_head(FILES_HEAD, _file_rows(seen, lengths)))
    writer.add(README, [README_TEXT.encode()])
    _raw_files(book, sorted(seen.files), lengths, writer, progress)
    members = tuple(sorted(writer.members, key=lambda m: m.name))
    manifest = Manifest(program, tuple(machines), len(seen.keys), len(left_out), members, chained)
    written = writer.add(MANIFEST, [manifest_bytes(manifest)])
    return Exported(manifest, written.sha256, len(seen.files), sum(m.bytes for m in members))


def _lines(entries: Iterable[Entry], seen: _Seen, table: IO[bytes]) -> Iterator[bytes]:
    for entry in entries:
        line = line_of(entry)
        if hashlib.sha256(line).hexdigest() != entry.key:
            raise _damaged(f"line {entry.number}", "the text its key was taken of", "another")
        _note(entry, seen)
        table.write(entry_row(entry, seen.machines[entry.new.machine].name))
        yield line + b"\n"


def _note(entry: Entry, seen: _Seen) -> None:
    new = entry.new
    before = seen.machines.get(new.machine)
    name, model = (before.name, before.model) if before else (new.machine, "")
    if new.kind == "identity":
        name, model = str(new.body.get("name", name)), str(new.body.get("model", ""))
    seen.machines[new.machine] = Packed(new.machine, name, model, (before.entries if before else 0) + 1)
    seen.keys.append(entry.key)
    seen.signatures.append(entry.signature or "-")
    for sha256 in new.files:
        seen.files.setdefault(sha256, (name_of_file(sha256, new.body), entry.key))


def _with_head(head: tuple[str, ...], rows: Iterable[bytes]) -> Iterator[bytes]:
    yield UTF8_MARK + table_row(head)
    yield from rows


def _file_rows(seen: _Seen, lengths: Mapping[str, int]) -> Iterator[bytes]:
    for sha256, (name, key) in sorted(seen.files.items()):
        yield table_row((sha256, lengths.get(sha256, ""), name, key))


def _raw_files(
    book: RawFiles, files: list[str], lengths: Mapping[str, int], writer: Writer, progress: Progress
) -> None:
    total, done = sum(lengths.get(sha256, 0) for sha256 in files) or 1, 0
    for sha256 in files:
        with book.raw(sha256) as stream:
            pieces = iter(lambda stream=stream: stream.read(PIECE_BYTES), b"")  # type: ignore[misc]
            member = writer.add(raw_name(sha256), pieces, length=lengths.get(sha256, 0))
        _same(member, sha256)
        done += member.bytes
        progress(done / total)


def _same(member: Member, sha256: str) -> None:
    if member.sha256 != sha256:
        raise _damaged(f"raw file {sha256}", "the bytes it was taken in with", f"others ({member.sha256})")


def _damaged(place: str, expected: str, found: str) -> InputError:
    do = "`tapewright book check` says what is whole, `book export --whole-only` saves it."
    return InputError("the book", place=place, expected=expected, found=found, do=do)
