"""A book that lives in memory: what the tests of the pages write in."""

import io
from datetime import UTC, datetime
from pathlib import Path

from tapewright.core.book.entry import Entry, key_of
from tapewright.core.book.machine import MachineOnShelf
from tapewright.errors import InputError


class MemoryBook:
    """Keeps lines in a list, raw files in a dictionary."""

    def __init__(self):
        self.lines, self.files = [], {}

    def machines(self):
        named = {}
        for line in self.lines:
            if line.new.kind == "identity":
                named[line.new.machine] = line.new.body
        return tuple(sorted((self._on_shelf(key, body) for key, body in named.items()), key=lambda m: m.name))

    def machine(self, name):
        for each in self.machines():
            if name in (each.key, each.name):
                return each
        raise InputError("the book", expected="one of its machines", found=repr(name))

    def write(self, lines, files):
        taken = {m.name: m.key for m in self.machines()}
        for new in lines:
            if new.kind == "identity" and taken.get(new.body["name"], new.machine) != new.machine:
                raise InputError("the book", expected="a name nobody has", found=new.body["name"])
        for key, source in files.items():
            self.files[key] = source if isinstance(source, bytes) else Path(source).read_bytes()
        written = []
        for new in lines:
            at = datetime.now(UTC)
            written.append(Entry(len(self.lines) + 1, key_of(new, at, "test"), at, "test", new))
            self.lines.append(written[-1])
        return tuple(written)

    def entries(self, machine, *, kinds=(), sort=None, before=None, limit=None):
        found = [
            e for e in reversed(self.lines)
            if e.new.machine == machine and (not kinds or e.new.kind in kinds)
            and (sort is None or e.new.body.get("sort") == sort) and (before is None or e.number < before)
        ]  # fmt: skip
        return tuple(found[:limit])

    def entry(self, key):
        for each in self.lines:
            if each.key.startswith(key):
                return each
        raise InputError("the book", expected="a line of it", found=repr(key))

    def raw(self, sha256):
        return io.BytesIO(self.files[sha256])

    def _on_shelf(self, key, body):
        lines = [line for line in self.lines if line.new.machine == key]
        return MachineOnShelf(key, body["name"], body.get("model", ""), len(lines), lines[-1].at)
