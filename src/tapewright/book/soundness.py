"""Whether a book is whole: each line against its own key, each raw file against its name, and what hangs in the air."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field

from tapewright.book.chains import Chain
from tapewright.book.entry import Entry, canonical, read_canonical


@dataclass(frozen=True, slots=True)
class LineFound:
    """One line as the database gives it.

    Attributes:
        number: its place in the book.
        key: the key it stands under; may itself be damaged.
        document: the bytes its key was taken of; None when they cannot be read.
        columns: what stands beside it for looking up, by name.
        trouble: why it could not be read; empty when it could.
    """

    number: int
    key: str
    document: bytes | None
    columns: Mapping[str, str | None] = field(default_factory=dict)
    trouble: str = ""


@dataclass(frozen=True, slots=True)
class Fault:
    """Something that is not as it should be.

    Attributes:
        place: for example "line 12" or "raw file 3f2a...".
        what: what is wrong with it.
    """

    place: str
    what: str


@dataclass(frozen=True, slots=True)
class MachineWhole:
    """How much of a machine's record is whole.

    Attributes:
        key: its key.
        name: its name on the shelf.
        lines: lines there should be, as the shelf counts them.
        whole: lines that are whole, with all the raw files they rest on.
    """

    key: str
    name: str
    lines: int
    whole: int


@dataclass(frozen=True, slots=True)
class Soundness:
    """What a check found.

    Attributes:
        lines: lines that were found or are missing from the row of numbers.
        whole_lines: those that are what their key says, with all raw files they rest on.
        raw_files: raw files there are.
        whole_raw_files: those that are what their name says.
        machines: by name.
        faults: in the order they were found.
        remarks: what is worth knowing and is no damage.
        chains: what each bench wrote about each machine, and whether its chain is whole.
    """

    lines: int
    whole_lines: int
    raw_files: int
    whole_raw_files: int
    machines: tuple[MachineWhole, ...]
    faults: tuple[Fault, ...]
    remarks: tuple[str, ...] = ()
    chains: tuple[Chain, ...] = ()


def whole_line(found: LineFound) -> Entry | str:
    """Return the entry when the line is what its key says, else what is wrong with it."""
    if found.document is None:
        return found.trouble or "it cannot be read"
    if hashlib.sha256(found.document).hexdigest() != found.key:
        return "it is not what its key says: it was altered or damaged"
    try:
        new, at, program, link = read_canonical(found.document)
        if at.tzinfo is None or canonical(new, at, program, link) != found.document:
            return "it is not written as the book writes"
    except ValueError as problem:
        return str(problem)
    place = found.columns.get("place") or ""
    number = int(place) if place.isdecimal() else found.number
    return Entry(number, found.key, at, program, new, link, found.columns.get("signature") or "")
