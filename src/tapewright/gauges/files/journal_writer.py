"""Write a journal as TOML, so that it reads back as the same entries; append to one that is there."""

import json
import math
from pathlib import Path

from tapewright.furniture.whole_file import write_whole
from tapewright.gauges.journal import Entry, Journal


def journal_toml(entries: Journal) -> str:
    """Return the entries as TOML tables, numbers with every digit they have."""
    return "\n".join(_table(entry) for entry in entries)


def _table(entry: Entry) -> str:
    lines = ["[[entry]]", f"id = {_text(entry.id)}"]
    for key in ("position", "unit", "instrument", "changed", "undo", "accepted"):
        if getattr(entry, key):
            lines.append(f"{key} = {_text(getattr(entry, key))}")
    for key in ("value", "u", "low", "high"):
        number = getattr(entry, key)
        if number is not None and math.isfinite(number):
            lines.append(f"{key} = {float(number)!r}")
    if entry.leaves:
        lines.append(f"leaves = [{', '.join(repr(float(leaf)) for leaf in entry.leaves)}]")
    for key in ("eye", "warm", "powered", "locked"):
        if getattr(entry, key) is not None:
            lines.append(f"{key} = {'true' if getattr(entry, key) else 'false'}")
    return "\n".join(lines) + "\n"


def _text(text: str) -> str:
    # a JSON string is a TOML basic string; only DEL has to be written differently
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def append_journal(path: Path, entries: Journal) -> None:
    """Add entries to a journal on disk, or begin one; the old file stays whole until the new one is."""
    before = path.read_text(encoding="utf-8") if path.exists() else ""
    gap = "" if not before or before.endswith("\n\n") else "\n" if before.endswith("\n") else "\n\n"
    write_whole(path, before + gap + journal_toml(entries))
