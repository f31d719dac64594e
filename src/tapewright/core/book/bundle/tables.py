"""The tables of a bundle, for people and their spreadsheets; nothing is read back from them."""

import csv
import io
from collections.abc import Iterable, Mapping
from typing import Any

from tapewright.core.book.bundle.manifest import Packed
from tapewright.core.book.entry import Entry
from tapewright.core.book.timeline import in_short, sort_of

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
    """Give a machine's row."""
    return table_row((machine.key, machine.name, machine.model, machine.entries))


def entry_row(entry: Entry, machine_name: str) -> bytes:
    """Give a line's row."""
    new = entry.new
    return table_row((
        entry.key, f"{entry.at:%Y-%m-%d %H:%M:%S}", machine_name, new.kind, sort_of(new) or "", new.by, in_short(new),
        new.replaces or "",
    ))  # fmt: skip


def name_of_file(sha256: str, body: Mapping[str, Any]) -> str:
    """Give what a raw file was called when a line took it in; empty when the line does not say."""
    sources = body.get("sources")
    for source in sources if isinstance(sources, list) else ():
        if isinstance(source, Mapping) and source.get("sha256") == sha256 and isinstance(source.get("name"), str):
            return str(source["name"])
    return ""


def _no_formula(cell: str) -> str:
    return f"'{cell}" if cell.startswith(_FORMULA) else cell
