"""One line of the book: who wrote what about which machine, and the fingerprint that keeps it honest.

    NewEntry  --the book gives it a time and a number-->  Entry

An entry is never changed and never taken out. A correction is a new entry of the same kind that names the one it
withdraws, with a reason; the old one stays in sight.
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
#: stands for the name of whoever withdraws a line at a bench that does not ask for one
AT_THE_BENCH = "somebody at this bench"


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
        replaces: fingerprint of the entry that it withdraws and stands for, None for none.
        reason: why that one is withdrawn.

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
    reason: str = ""

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"{self.kind!r} is no kind of line; there are {', '.join(KINDS)}")
        named = [*self.files, *self.rests_on, *([self.replaces] if self.replaces else [])]
        for fingerprint in named:
            if len(fingerprint) != HEX_DIGITS or set(fingerprint) - set("0123456789abcdef"):
                raise ValueError(f"{fingerprint!r} is no SHA-256 fingerprint")


@dataclass(frozen=True, slots=True)
class Link:
    """Where a line stands in the chain of the bench that wrote it.

    Attributes:
        bench: public key of the bench (Ed25519, 64 hex digits).
        seq: how many lines the bench had written into its book, with this one.
        before: fingerprint of its line about the same machine before this one; None for its first.
        seen: fingerprints of the newest lines of other benches about the machine.
    """

    bench: str
    seq: int
    before: str | None = None
    seen: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Entry:
    """A line as it stands in a book.

    Attributes:
        number: place in this book, from 1, in the order of time; lines taken in may move it.
        key: SHA-256 of `canonical(...)`: the same line has the same key in every book.
        at: when it was written, by the clock of the bench that wrote it (UTC).
        program: version of the program that wrote it.
        new: what was written.
        link: its place in a chain; None for a line of a book from before there were chains.
        signature: of the bench over the key, 128 hex digits; empty for none.
    """

    number: int
    key: str
    at: datetime
    program: str
    new: NewEntry = field(repr=False)
    link: Link | None = field(repr=False, default=None)
    signature: str = field(repr=False, default="")


def canonical(new: NewEntry, at: datetime, program: str, link: Link | None = None) -> bytes:
    """Return the bytes that are fingerprinted: JSON, keys sorted, no spaces, UTF-8, time in UTC to the microsecond.

    Raises:
        ValueError: when the body holds what JSON cannot (NaN included).
    """
    document: dict[str, Any] = {
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
    if new.reason:
        document["reason"] = new.reason
    if link is not None:
        document["chain"] = {"bench": link.bench, "seq": link.seq, "before": link.before, "seen": list(link.seen)}
    try:
        text = json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
        return text.encode()
    except (TypeError, ValueError, RecursionError) as problem:
        raise ValueError(f"a line of kind {new.kind!r} holds what JSON cannot: {problem}") from problem


def read_canonical(document: bytes) -> tuple[NewEntry, datetime, str, Link | None]:
    """Read what `canonical` wrote: the line, when it was written, by which program, where in a chain.

    Raises:
        ValueError: when it is no such document.
    """
    try:
        read = json.loads(document)
        new = NewEntry(
            machine=read["machine"],
            kind=read["kind"],
            body=read["body"],
            by=read["by"],
            files=tuple(read["files"]),
            rests_on=tuple(read["rests_on"]),
            replaces=read["replaces"],
            reason=read.get("reason", ""),
        )
        chain = read.get("chain")
        link = Link(chain["bench"], chain["seq"], chain["before"], tuple(chain["seen"])) if chain else None
        return new, datetime.fromisoformat(read["at"]), read["program"], link
    except (KeyError, TypeError, AttributeError, RecursionError) as problem:
        raise ValueError(f"no line of a book: {type(problem).__name__} {problem}") from problem


def key_of(new: NewEntry, at: datetime, program: str, link: Link | None = None) -> str:
    """Return the fingerprint of an entry (SHA-256 of `canonical`, hex)."""
    return hashlib.sha256(canonical(new, at, program, link)).hexdigest()


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
