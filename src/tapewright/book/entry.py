"""One line of the book: who wrote what about which machine, and the fingerprint that keeps it honest.

    NewEntry  --the book gives it a time and a number-->  Entry

An entry is never changed and never taken out. A correction is a new entry that names the one it replaces.

A machine as the shelf shows it.
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from tapewright.book.kinds import KINDS

#: Length of a SHA-256 fingerprint in hex digits (FIPS 180-4).
HEX_DIGITS = 64


@dataclass(frozen=True, slots=True)
class NewEntry:
    """A line as somebody means to write it.

    Attributes:
        machine: key of the machine it is about.
        kind: one of `KINDS`.
        body: what it says; JSON values only.
        by: who says so; may be empty.
        files: fingerprints (SHA-256, hex) of the raw files it rests on; they are stored with it.
        rests_on: fingerprints of entries it was made from.
        replaces: fingerprint of the entry that it corrects, None for none.

    Raises:
        ValueError: on an unknown kind, or a fingerprint that is not one.
    """

    machine: str
    kind: str
    body: Mapping[str, Any]
    by: str = ""
    files: tuple[str, ...] = ()
    rests_on: tuple[str, ...] = ()
    replaces: str | None = None

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"{self.kind!r} is no kind of line; there are {', '.join(KINDS)}")
        named = [*self.files, *self.rests_on, *([self.replaces] if self.replaces else [])]
        for fingerprint in named:
            if len(fingerprint) != HEX_DIGITS or set(fingerprint) - set("0123456789abcdef"):
                raise ValueError(f"{fingerprint!r} is no SHA-256 fingerprint")


@dataclass(frozen=True, slots=True)
class Entry:
    """A line as it stands in a book.

    Attributes:
        number: place in this book, from 1, in the order of writing; another book may number it otherwise.
        key: SHA-256 of `canonical(...)`: the same line has the same key in every book.
        at: when it was written, by the clock of the bench that wrote it (UTC).
        program: version of the program that wrote it.
        new: what was written.
    """

    number: int
    key: str
    at: datetime
    program: str
    new: NewEntry = field(repr=False)


def canonical(new: NewEntry, at: datetime, program: str) -> bytes:
    """Return the bytes that are fingerprinted: JSON, keys sorted, no spaces, UTF-8, time in UTC to the microsecond.

    Raises:
        ValueError: when the body holds what JSON cannot (NaN included).
    """
    document = {
        "machine": new.machine,
        "kind": new.kind,
        "body": new.body,
        "by": new.by,
        "files": list(new.files),
        "rests_on": list(new.rests_on),
        "replaces": new.replaces,
        "at": at.astimezone(UTC).isoformat(timespec="microseconds"),
        "program": program,
    }
    try:
        text = json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
        return text.encode()
    except (TypeError, ValueError) as problem:
        raise ValueError(f"a line of kind {new.kind!r} holds what JSON cannot: {problem}") from problem


def read_canonical(document: bytes) -> tuple[NewEntry, datetime, str]:
    """Read what `canonical` wrote: the line, when it was written, by which program.

    Raises:
        ValueError: when it is no such document.
    """
    try:
        said = json.loads(document)
        new = NewEntry(
            machine=said["machine"],
            kind=said["kind"],
            body=said["body"],
            by=said["by"],
            files=tuple(said["files"]),
            rests_on=tuple(said["rests_on"]),
            replaces=said["replaces"],
        )
        return new, datetime.fromisoformat(said["at"]), said["program"]
    except (KeyError, TypeError, RecursionError) as problem:
        raise ValueError(f"no line of a book: {type(problem).__name__} {problem}") from problem


def key_of(new: NewEntry, at: datetime, program: str) -> str:
    """Return the fingerprint of an entry (SHA-256 of `canonical`, hex)."""
    return hashlib.sha256(canonical(new, at, program)).hexdigest()


@dataclass(frozen=True, slots=True)
class MachineOnShelf:
    """One machine of the book, from its newest identity and a count of its lines.

    Attributes:
        key: the same in every book (32 hex digits).
        name: what people call it; one machine a name in one book.
        model: model or type as the user writes it; may be empty.
        entries: lines about it.
        last_at: when the newest of them was written (UTC).
    """

    key: str
    name: str
    model: str
    entries: int
    last_at: datetime
