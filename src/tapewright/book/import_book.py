"""Take a bundle into a book: `book import`. Everything is checked before the book is touched; then all or nothing.

Picture:

    every hash  >  every line: key, content  >  signatures, chains  >  raw files  >  names of machines  >  take in
"""

from collections.abc import Iterator, Mapping
from contextlib import ExitStack
from dataclasses import dataclass, replace
from functools import partial
from types import MappingProxyType
from typing import BinaryIO, Protocol

from tapewright.book.bundle.lines import read_line
from tapewright.book.bundle.manifest import Manifest, Packed
from tapewright.book.bundle.members import ENTRIES, KEYS, RAW, SIGNATURES, Limits, raw_name, sha256_of
from tapewright.book.chains import DOES_NOT_MATCH, Chain, look_at_chains
from tapewright.book.entry import HEX_DIGITS, Entry
from tapewright.book.ports import Book
from tapewright.errors import InputError
from tapewright.furniture.record import Progress

NOTHING_DONE = "Nothing was taken in."
#: dangling lines named in a report
MOST_NAMED = 5
#: length of a signature in hex digits
SIGNATURE_DIGITS = 128


class Bundle(Protocol):
    """An open bundle whose envelope was found good."""

    manifest: Manifest
    limits: Limits

    def open(self, name: str) -> BinaryIO:
        """Open a member."""
        ...

    def check_hashes(self) -> Iterator[int]:
        """Hold every member against the manifest; give the bytes read so far."""
        ...


@dataclass(frozen=True, slots=True)
class TakenIn:
    """One machine that was taken in.

    Attributes:
        packed: as the bundle has it.
        name: its name on the shelf now.
        was_there: whether the book had it before.
        older: new lines that stand before the newest the book had of it.
    """

    packed: Packed
    name: str
    was_there: bool
    older: int = 0


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import did.

    Attributes:
        manifest: of the bundle.
        machines: what became of each.
        new: lines that the book did not have.
        dangling: keys of lines that others name and that are neither in the book nor in the bundle.
        chains: what each bench wrote about its machines, as it stands in the book now.
    """

    manifest: Manifest
    machines: tuple[TakenIn, ...]
    new: int
    dangling: tuple[str, ...]
    chains: tuple[Chain, ...] = ()

    @property
    def broken(self) -> bool:
        """Whether a chain is not whole."""
        return any(chain.faults for chain in self.chains)


@dataclass(frozen=True, slots=True)
class Checked:
    """A bundle in which everything was found right.

    Attributes:
        bundle: the bundle, still open.
        said: what to call it.
        files: fingerprints of the raw files that lines rest on.
        outside: keys that lines name and that are not in the bundle.
        chains: what each bench wrote about each machine.
    """

    bundle: Bundle
    said: str
    files: frozenset[str]
    outside: tuple[str, ...]
    chains: tuple[Chain, ...] = ()


def check_bundle(
    bundle: Bundle, said: str, progress: Progress, known: Mapping[str, str] = MappingProxyType({})
) -> Checked:
    """Hold every hash, every key and every name against each other.

    Args:
        bundle: what to check.
        said: what to call it.
        progress: told how much is checked.
        known: benches known here: public key -> name.

    Raises:
        InputError: at the first thing that is not right.
    """
    total = sum(member.bytes for member in bundle.manifest.members) or 1
    for done in bundle.check_hashes():
        progress(done / total)
    return _check_lines(bundle, said, known)


def import_book(
    book: Book,
    checked: Checked,
    progress: Progress,
    *,
    rename: bool,
    known: Mapping[str, str] = MappingProxyType({}),
) -> Imported:
    """Take a bundle in.

    Args:
        book: to take it into.
        checked: what to take in.
        progress: told how much is taken in.
        rename: whether a machine whose name another machine has here may get a number behind its name.
        known: benches known here: public key -> name.

    Raises:
        InputError: with the reason; the book is then as it was.
    """
    bundle, said = checked.bundle, checked.said
    manifest = bundle.manifest
    packed_keys = {packed.key for packed in manifest.machines}
    there = [m.key for m in book.machines() if m.key in packed_keys]
    before = {key: frozenset(line.key for line in book.timeline(key)) for key in there}
    if not rename:
        for packed in manifest.machines:
            _check_name(book, packed, said)
    sources = {sha256: partial(bundle.open, raw_name(sha256)) for sha256 in checked.files}
    new = book.take_in(_counted(_entries(bundle, said), manifest.entries, progress), sources)
    shelf = tuple(
        TakenIn(
            m, book.machine(m.key).name, m.key in there, _older(book, m.key, before[m.key]) if m.key in there else 0
        )
        for m in manifest.machines
    )
    dangling = tuple(key for key in checked.outside if not _has(book, key))
    chains = [chain for chain in checked.chains if chain.machine not in there]
    for key in there:
        thin = (replace(entry, new=replace(entry.new, body={})) for entry in book.read_through(key))
        chains += look_at_chains(thin, known)
    return Imported(manifest, shelf, new, dangling, tuple(chains))


def _older(book: Book, key: str, before: frozenset[str]) -> int:
    """Count the lines taken in that stand before the newest the book had of a machine."""
    lines = [line.key for line in book.timeline(key)]
    newest = next((place for place, line in enumerate(lines) if line in before), len(lines))
    return sum(line not in before for line in lines[newest:])


def _counted(entries: Iterator[Entry], total: int, progress: Progress) -> Iterator[Entry]:
    for entry in entries:
        yield entry
        progress(entry.number / max(total, 1))


def _check_lines(bundle: Bundle, said: str, known: Mapping[str, str]) -> Checked:
    """Read every line once; nothing is kept but what lines name."""
    counts: dict[str, int] = {}
    names: dict[str, tuple[str, str]] = {}
    keys: set[str] = set()
    files: set[str] = set()
    named: dict[str, None] = {}
    thin: list[Entry] = []
    for entry in _entries(bundle, said):
        new, place = entry.new, f"{ENTRIES}, line {entry.number}"
        if entry.key in keys:
            raise _refusal(said, place, "every line once", "one that stands there before")
        if new.kind == "identity":
            names[new.machine] = str(new.body.get("name")), str(new.body.get("model", ""))
        keys.add(entry.key)
        counts[new.machine] = counts.get(new.machine, 0) + 1
        files.update(new.files)
        named.update(dict.fromkeys([*new.rests_on, *([new.replaces] if new.replaces else [])]))
        thin.append(replace(entry, new=replace(new, body={})))
    for machine in counts:
        if machine not in names:
            raise _refusal(said, ENTRIES, f"the identity of machine {machine} among its lines", "none")
    _check_manifest(bundle.manifest, counts, names, len(keys), said)
    _check_files(bundle.manifest, files, said)
    chains = look_at_chains(thin, known)
    for fault in (fault for chain in chains for fault in chain.faults if fault.startswith(DOES_NOT_MATCH)):
        raise _refusal(said, ENTRIES, "lines signed by the bench they name", fault)
    return Checked(bundle, said, frozenset(files), tuple(key for key in named if key not in keys), chains)


def _entries(bundle: Bundle, said: str) -> Iterator[Entry]:
    """Return the lines, each held against its key."""
    with ExitStack() as opened:
        lines, keys = opened.enter_context(bundle.open(ENTRIES)), opened.enter_context(bundle.open(KEYS))
        signatures = opened.enter_context(bundle.open(SIGNATURES)) if bundle.manifest.chained else None
        number = 0
        while line := lines.readline(bundle.limits.line_bytes + 2):
            number += 1
            place, key = f"{ENTRIES}, line {number}", keys.readline(HEX_DIGITS + 2)
            if not line.endswith(b"\n"):
                raise _refusal(said, place, f"a line of at most {bundle.limits.line_bytes} bytes, with its end", "none")
            if len(key) != HEX_DIGITS + 1:
                raise _refusal(said, f"{KEYS}, line {number}", "a key of 64 hex digits", repr(key.decode("latin-1")))
            try:
                entry = read_line(number, line[:-1], key[:-1].decode("latin-1"), _signature(signatures))
            except ValueError as problem:
                expected, _, found = str(problem).partition("|")
                raise _refusal(said, place, expected, found) from problem
            yield entry
        if keys.read(1):
            raise _refusal(said, KEYS, f"{number} keys, one a line of {ENTRIES}", "more")


def _signature(signatures: BinaryIO | None) -> str:
    """Return the next signature; empty for none."""
    line = signatures.readline(SIGNATURE_DIGITS + 2) if signatures else b""
    text = line.removesuffix(b"\n").decode("latin-1")
    if text not in ("", "-") and len(text) != SIGNATURE_DIGITS:
        raise ValueError(f"a signature of {SIGNATURE_DIGITS} hex digits, or -|{text[:40]!r}")
    return "" if text == "-" else text


def _check_manifest(
    manifest: Manifest, counts: dict[str, int], names: dict[str, tuple[str, str]], total: int, said: str
) -> None:
    listed = {m.key: (m.entries, (m.name, m.model)) for m in manifest.machines}
    found = {key: (count, names[key]) for key, count in counts.items()}
    if len(listed) != len(manifest.machines) or listed != found or manifest.entries != total:
        raise _refusal(
            said,
            "manifest.json",
            f"the machines and the {total} lines that are in {ENTRIES}",
            f"others ({len(manifest.machines)} machines, {manifest.entries} lines)",
        )


def _check_files(manifest: Manifest, files: set[str], said: str) -> None:
    there = {sha256 for member in manifest.members if (sha256 := sha256_of(member.name))}
    for sha256 in sorted(files - there):
        raise _refusal(said, RAW, f"the raw file {sha256}, on which a line rests", "no such file")
    for sha256 in sorted(there - files):
        raise _refusal(said, raw_name(sha256), "only raw files on which a line rests", "one that no line names")


def _check_name(book: Book, packed: Packed, said: str) -> None:
    """See that no other machine of the book has this name."""
    try:
        other = book.machine(packed.name)
    except InputError:
        return
    if other.key not in (packed.key, packed.name):
        raise InputError(
            said,
            place=f"machine {packed.name!r}",
            expected="a name that is free, or the machine that has it here",
            found=f"another machine: key {packed.key} there, {other.key} here",
            do=f"With --rename it is taken in as a machine of its own, with a number behind its name. {NOTHING_DONE}",
        )


def _has(book: Book, key: str) -> bool:
    try:
        book.entry(key)
    except InputError:
        return False
    return True


def _refusal(said: str, place: str, expected: str, found: str) -> InputError:
    return InputError(said, place=place, expected=expected, found=found, do=NOTHING_DONE)
