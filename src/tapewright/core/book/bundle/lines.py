"""Lines of the book as JSON Lines: each line the very bytes that its key is the SHA-256 of."""

import hashlib
import re
from collections.abc import Callable, Mapping

from tapewright.core.book.entry import Entry, NewEntry, canonical, read_canonical

_MACHINE = re.compile(r"[0-9a-f]{32}")
#: what JSON may hold in place of what a line needs: (in words, where it stands, what it must be)
_KINDS: tuple[tuple[str, Callable[[NewEntry, str], object], type], ...] = (
    ("the machine's key as text", lambda new, _: new.machine, str),
    ("a body that is an object", lambda new, _: new.body, Mapping),
    ("text for who wrote it", lambda new, _: new.by, str),
    ("text for the program", lambda _, program: program, str),
)


def line_of(entry: Entry) -> bytes:
    """Give the line without its end."""
    return canonical(entry.new, entry.at, entry.program)


def read_line(number: int, line: bytes, key: str) -> Entry:
    """Read a line and hold it against its key.

    Args:
        number: which line of the bundle, from 1.
        line: without its end.
        key: what keys.txt says of it.

    Raises:
        ValueError: "what was expected|what was found".
    """
    found = hashlib.sha256(line).hexdigest()
    if found != key:
        raise ValueError(f"a line with the key {key}|one with {found}: it was altered, or is another")
    try:
        new, at, program = read_canonical(line)
    except ValueError as problem:
        raise ValueError(f"a line of a book|{problem}") from None
    for what, value, kind in _KINDS:
        if not isinstance(value(new, program), kind):
            raise ValueError(f"{what}|something else in its place")
    if not _MACHINE.fullmatch(new.machine):
        raise ValueError(f"a machine's key of 32 hex digits|{new.machine!r}")
    if at.tzinfo is None or canonical(new, at, program) != line:
        raise ValueError("JSON as the book writes it (keys in order, no blanks, each once)|another writing of it")
    return Entry(number, key, at, program, new)
