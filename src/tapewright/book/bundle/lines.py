"""Lines of the book as JSON Lines: each line the very bytes that its key is the SHA-256 of.

The tables of a bundle, for people and their spreadsheets; nothing is read back from them.
"""

import csv
import hashlib
import io
import re
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from tapewright.book.bodies import LARGEST, LONGEST_NAME, SHA256, check_text, checked
from tapewright.book.bundle.manifest import Packed
from tapewright.book.entry import Entry, Link, NewEntry, canonical, read_canonical
from tapewright.book.timeline import in_short, sort_of

_MACHINE = re.compile(r"[0-9a-f]{32}")
#: what JSON may hold in place of what a line needs: (in words, where it stands, what it must be)
_KINDS: tuple[tuple[str, Callable[[NewEntry, str], object], type], ...] = (
    ("the machine's key as text", lambda new, _: new.machine, str),
    ("a body that is an object", lambda new, _: new.body, Mapping),
    ("text for who wrote it", lambda new, _: new.by, str),
    ("text for the program", lambda _, program: program, str),
)


def line_of(entry: Entry) -> bytes:
    """Return the line without its end."""
    return canonical(entry.new, entry.at, entry.program, entry.link)


def read_line(number: int, line: bytes, key: str, signature: str = "") -> Entry:
    """Read a line and hold it against its key.

    Args:
        number: which line of the bundle, from 1.
        line: without its end.
        key: what keys.txt says of it.
        signature: what signatures.txt says of it; empty for none.

    Raises:
        ValueError: "what was expected|what was found".
    """
    found = hashlib.sha256(line).hexdigest()
    if found != key:
        raise ValueError(f"a line with the key {key}|one with {found}: it was altered, or is another")
    try:
        new, at, program, link = read_canonical(line)
    except ValueError as problem:
        raise ValueError(f"a line of a book|{problem}") from None
    for what, value, kind in _KINDS:
        if not isinstance(value(new, program), kind):
            raise ValueError(f"{what}|something else in its place")
    if not _MACHINE.fullmatch(new.machine):
        raise ValueError(f"a machine's key of 32 hex digits|{new.machine!r}")
    try:
        checked(new.kind, new.body)
        for name, text in (("by", new.by), ("program", program), ("reason", new.reason)):
            check_text(name, text, LONGEST_NAME)
        _check_link(link)
    except (ValueError, TypeError) as problem:
        raise ValueError(f"a line of kind {new.kind!r} as a bench writes it|{problem}") from None
    if not FIRST_YEAR <= at.year < LAST_YEAR:
        raise ValueError(f"a time between the years {FIRST_YEAR} and {LAST_YEAR}|the year {at.year}")
    if at.tzinfo is None or canonical(new, at, program, link) != line:
        raise ValueError("JSON as the book writes it (keys in order, no blanks, each once)|another writing of it")
    return Entry(number, key, at, program, new, link, signature)


#: Nothing of this program was written before, and no clock of a bench is as far ahead (ours).
FIRST_YEAR, LAST_YEAR = 2000, 2200


def _check_link(link: Link | None) -> None:
    if link is None:
        return
    # what JSON holds there may be of any type
    named: list[object] = [link.bench, *link.seen, *([link.before] if link.before is not None else [])]
    if not all(isinstance(key, str) and SHA256.fullmatch(key) for key in named):
        raise ValueError("a chain names its bench and lines by 64 hex digits; found something else")
    seq: object = link.seq
    if not isinstance(seq, int) or isinstance(seq, bool) or not 1 <= seq <= LARGEST:
        raise ValueError("a chain counts its lines from 1; found something else")


MACHINES_HEAD = ("key", "name", "model", "lines")
ENTRIES_HEAD = ("key", "written at (UTC)", "machine", "kind", "sort", "by", "says", "replaces")
FILES_HEAD = ("sha256", "bytes", "name", "line")
#: A spreadsheet would take a cell that begins so for a formula, and work it out.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def table_row(cells: Iterable[object]) -> bytes:
    """Write one row of CSV (RFC 4180, UTF-8)."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerow([_no_formula(str(cell)) for cell in cells])
    return out.getvalue().encode("utf-8", "replace")


def machine_row(machine: Packed) -> bytes:
    """Return a machine's row."""
    return table_row((machine.key, machine.name, machine.model, machine.entries))


def entry_row(entry: Entry, machine_name: str) -> bytes:
    """Return a line's row."""
    new = entry.new
    return table_row(
        (
            entry.key,
            f"{entry.at:%Y-%m-%d %H:%M:%S}",
            machine_name,
            new.kind,
            sort_of(new) or "",
            new.by,
            in_short(new),
            new.replaces or "",
        )
    )


def name_of_file(sha256: str, body: Mapping[str, Any]) -> str:
    """Return what a raw file was called when a line took it in; empty when the line does not say."""
    sources = body.get("sources")
    for source in sources if isinstance(sources, list) else ():
        if isinstance(source, Mapping) and source.get("sha256") == sha256 and isinstance(source.get("name"), str):
            return str(source["name"])
    return ""


def _no_formula(cell: str) -> str:
    return f"'{cell}" if cell.startswith(_FORMULA) else cell
