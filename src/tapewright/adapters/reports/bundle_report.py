"""What an export or an import did, in words and as documents."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tapewright.app.export_book import Exported
from tapewright.app.import_book import MOST_NAMED, Imported, TakenIn
from tapewright.core.book.bundle.manifest import Manifest

MIB = 1024**2


def exported_text(exported: Exported, out: Path) -> str:
    """Say what was written."""
    manifest = exported.manifest
    lines = [f"{out}: {counted(manifest.entries, 'line')} about {counted(len(manifest.machines), 'machine')}, "
             f"{counted(exported.raw_files, 'raw file')}, {exported.bytes / MIB:.1f} MiB unpacked."]  # fmt: skip
    lines += [f"  {m.name}: {counted(m.entries, 'line')}" for m in manifest.machines]
    if manifest.left_out:
        lines.append(f"{counted(manifest.left_out, 'line')} not whole: as text in left-out.jsonl, for people only.")
    lines.append(f"Fingerprint of all of it: {exported.fingerprint}")
    return "\n".join(lines)


def exported_document(exported: Exported, out: Path) -> dict[str, Any]:
    """Give the document tapewright/book-export/1."""
    return {
        "format": "tapewright/book-export/1",
        "file": str(out),
        "fingerprint": exported.fingerprint,
        **_manifest(exported.manifest),
        "raw_files": exported.raw_files,
        "bytes": exported.bytes,
    }


def imported_text(imported: Imported, bundle: Path) -> str:
    """Say what was taken in."""
    return "\n".join(_imported(imported, bundle))


def _imported(imported: Imported, bundle: Path) -> Iterator[str]:
    known = imported.manifest.entries - imported.new
    yield f"{bundle}: every hash and key is right. {counted(imported.new, 'new line')}; {known} were here already."
    for machine in imported.machines:
        yield f"  {_machine(machine)}"
    if imported.manifest.left_out:
        left = counted(imported.manifest.left_out, "line")
        was = "was" if imported.manifest.left_out == 1 else "were"
        yield f"It was saved from a damaged book: {left} that {was} not whole, as text in its left-out.jsonl."
    if imported.dangling:
        named = ", ".join(key[:12] for key in imported.dangling[:MOST_NAMED])
        more = f" and {len(imported.dangling) - MOST_NAMED} more" if len(imported.dangling) > MOST_NAMED else ""
        yield f"Some lines name lines that are neither in the book nor in the bundle: {named}{more}."


def _machine(machine: TakenIn) -> str:
    name = machine.packed.name
    if machine.was_there:
        return f"{machine.name}: was in the book, and has now all lines of both.{_older(machine.older)}"
    if machine.name != name:
        return f"{name}: another machine has this name here; it is now {machine.name!r}, key {machine.packed.key}."
    return f"{name}: new, {counted(machine.packed.entries, 'line')}."


def _older(older: int) -> str:
    """Say that lines stand in the order in which this book got them, where that is not the order of their times."""
    if not older:
        return ""
    are = "is" if older == 1 else "are"
    return (f" {counted(older, 'line')} taken in {are} older than the newest that stood here, and come after it "
            "all the same: a book counts in the order of writing, and the last of a sort counts as the newest. See "
            "`machine history`, and measure again what is not as the machine now is.")  # fmt: skip


def imported_document(imported: Imported, bundle: Path) -> dict[str, Any]:
    """Give the document tapewright/book-import/1."""
    return {
        "format": "tapewright/book-import/1",
        "file": str(bundle),
        "new": imported.new,
        **(_manifest(imported.manifest) | {"machines": [_taken_in(m) for m in imported.machines]}),
        "dangling": list(imported.dangling),
    }


def _manifest(manifest: Manifest) -> dict[str, Any]:
    machines = [{"key": m.key, "name": m.name, "model": m.model, "entries": m.entries} for m in manifest.machines]
    return {
        "program": manifest.program,
        "machines": machines,
        "entries": manifest.entries,
        "left_out": manifest.left_out,
    }


def _taken_in(machine: TakenIn) -> dict[str, Any]:
    packed = machine.packed
    return {
        "key": packed.key,
        "name": machine.name,
        "name_in_bundle": packed.name,
        "model": packed.model,
        "entries": packed.entries,
        "was_there": machine.was_there,
        "older": machine.older,
    }


def counted(number: int, what: str) -> str:
    """Write "1 line", "2 lines"."""
    return f"{number} {what}{'s' * (number != 1)}"
