"""What pages ask of the book: a machine, and the piece of evidence that is named in the path, or the newest."""

from collections.abc import Mapping
from typing import Any, TypeVar

from tapewright.book.entry import Entry, MachineOnShelf
from tapewright.book.ports import Book
from tapewright.book.standing import standing
from tapewright.errors import InputError
from tapewright.furniture.document import Document
from tapewright.furniture.kept_documents import decode_what_is_whole

D = TypeVar("D", bound=Document)

NEWEST = "newest"
MOST_LISTED, LAST = 20, 6
#: how a line begins that takes another one back
TAKEN_BACK = "Taken back: "


def heading(machine: MachineOnShelf) -> dict[str, str]:
    """Return what the frame of every page of a machine needs: the document's "machine"."""
    return {"key": machine.key, "name": machine.name, "model": machine.model}


def identity(book: Book, machine: str) -> Mapping[str, Any]:
    """Return the newest identity of a machine."""
    newest = book.entries(machine, kinds=("identity",), limit=1)
    return newest[0].new.body if newest else {}


def chosen(book: Book, where: Mapping[str, str], sort: str) -> tuple[dict[str, object], Entry | None]:
    """Return the head of a page of evidence and what it is about; None when the newest is wanted and there is none.

    Args:
        book: the record of the workshop.
        where: the named parts of the path, "machine" and "entry".
        sort: of evidence.

    Raises:
        InputError: for evidence that is not of this machine or of another sort.
    """
    machine, wanted = book.machine(where["machine"]), where["entry"]
    if wanted == NEWEST:
        entry = next(iter(book.entries(machine.key, kinds=("evidence",), sort=sort, limit=1)), None)
    else:
        entry = book.entry(wanted)
        if entry.new.machine != machine.key or entry.new.body.get("sort") != sort:
            raise InputError("the book", expected=f"{sort} evidence of this machine", found=f"line {wanted[:12]!r}")
    told_of = None if entry is None else told(entry)
    listed = others(book, machine.key, sort, entry)
    return {"machine": heading(machine), "entry": told_of, "others": listed}, entry


def certain(book: Book, where: Mapping[str, str], sort: str) -> Entry:
    """Return the piece of evidence.

    Raises:
        InputError: when there is none.
    """
    entry = chosen(book, where, sort)[1]
    if entry is None:
        raise InputError("the book", expected=f"{sort} evidence of {where['machine']}", found="none")
    return entry


def read_kept(kind: type[D], entry: Entry) -> D:
    """Return the result of a piece of evidence, of any version of the program, as its type.

    Raises:
        InputError: when too little of it can be read.
    """
    kept = decode_what_is_whole(kind, entry.new.body.get("result"))
    if kept.document is None:
        places = ", ".join(kept.faults[:3]) or "all of it"
        raise InputError(
            "the book",
            expected="a result this version can show",
            found=f"not to be read: {places}",
            do="Measure the file again.",
        )
    return kept.document


def told(entry: Entry) -> dict[str, str]:
    """Return what a page tells of where its evidence comes from."""
    body = entry.new.body
    return {
        "key": entry.key,
        "at": entry.at.isoformat(),
        "by": entry.new.by,
        "program": entry.program,
        "phase": body.get("phase", ""),
        "says": body.get("says", ""),
    }


def others(book: Book, machine: str, sort: str, shown: Entry | None) -> list[dict[str, str]]:
    """Return the other evidence of this sort, newest first."""
    lines = [line for line in book.timeline(machine, kinds=("evidence",), limit=200) if line.sort == sort]
    return [
        {"key": line.key, "at": line.at.isoformat(), "says": line.says}
        for line in lines
        if shown is None or line.key != shown.key
    ][:MOST_LISTED]


def last_entries(book: Book, machine: str) -> list[dict[str, str]]:
    """Return the last answers, notes and remedies that stand, newest first; each can be taken back."""
    lines = [
        *book.entries(machine, kinds=("evidence",), sort="observation", limit=LAST),
        *book.entries(machine, kinds=("note",), limit=LAST),
        *book.entries(machine, kinds=("adjustment",), limit=LAST),
    ]
    told = [(entry, _words_of(entry)) for entry in reversed(standing(lines))]
    return [
        {"key": entry.key, "at": entry.at.isoformat(), "kind": entry.new.body.get("sort", entry.new.kind), "says": says}
        for entry, says in told
        if not says.startswith(TAKEN_BACK)
    ][:LAST]


def _words_of(entry: Entry) -> str:
    body = entry.new.body
    return str(body.get("says") or body.get("text") or body.get("what") or "")
