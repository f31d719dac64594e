"""Save what is whole of a damaged book: `book export --whole-only`.

A line is whole when it is what its key says and all raw files it rests on are there and are what their names say.
Lines that are not go out as text beside the rest, for people. A machine whose identity is lost gets a new one, so that
what is known of it can be taken in again.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import partial

from tapewright.book.check_book import Looker
from tapewright.book.entry import Entry, NewEntry, key_of
from tapewright.book.export_book import Lines
from tapewright.book.soundness import whole_line

BY = "tapewright book export --whole-only"
NOTE = "Its identity was lost with a damaged book; this stands in for it."


@dataclass(frozen=True, slots=True)
class WholeOnly:
    """What can be saved.

    Attributes:
        lines: the whole lines, and the text of the others.
        files: raw files that are whole, with their lengths.
    """

    lines: Lines
    files: dict[str, int]


def whole_only(looker: Looker, now: datetime, program: str) -> WholeOnly:
    """Look through a book for what is whole.

    Args:
        looker: looks through it.
        now: when a lost identity is said to be written.
        program: version that writes it.
    """
    lengths = looker.raw_files()
    files = {sha256: length for sha256, length in lengths.items() if not looker.raw_fault(sha256, length)}
    there: dict[str, None] = {}
    named: set[str] = set()
    names: dict[str, tuple[str, str]] = {key: (name, model) for key, name, model, _ in looker.shelf()}
    for entry in _whole(looker, files):
        there[entry.new.machine] = None
        if entry.new.kind != "identity":
            continue
        named.add(entry.new.machine)
        if entry.new.machine not in names:
            names[entry.new.machine] = str(entry.new.body.get("name")), str(entry.new.body.get("model", ""))
    lost = [key for key in there if key not in named]
    stand_ins = tuple(_identity(key, names.get(key, (f"machine {key[:8]}", "")), now, program) for key in lost)

    def entries() -> Iterator[Entry]:
        yield from stand_ins
        yield from _whole(looker, files)

    return WholeOnly(Lines(entries, partial(_left_out, looker, files)), files)


def _whole(looker: Looker, files: dict[str, int]) -> Iterator[Entry]:
    seen: set[str] = set()
    for found in looker.lines():
        entry = whole_line(found)
        if isinstance(entry, Entry) and files.keys() >= set(entry.new.files) and entry.key not in seen:
            seen.add(entry.key)
            yield entry


def _left_out(looker: Looker, files: dict[str, int]) -> Iterator[bytes]:
    for found in looker.lines():
        entry = whole_line(found)
        lost = isinstance(entry, str) or not files.keys() >= set(entry.new.files)
        if lost and found.document:
            yield found.document.replace(b"\n", b" ")


def _identity(machine: str, named: tuple[str, str], now: datetime, program: str) -> Entry:
    new = NewEntry(machine, "identity", {"name": named[0], "model": named[1], "note": NOTE}, by=BY)
    return Entry(0, key_of(new, now, program), now, program, new)
