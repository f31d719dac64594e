"""What a check of a book found, in words and as the document tapewright/book-check/1.

The kinds of line with their fields, from the tables that check them.

What an export or an import did, in words and as documents.

What a backup or a restore did, in words and as documents.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from tapewright.book.back_up import BackedUp, Restored
from tapewright.book.bodies import FIELDS, FORMS, Field
from tapewright.book.bundle.manifest import Manifest
from tapewright.book.chains import Chain
from tapewright.book.export_book import Exported
from tapewright.book.import_book import MOST_NAMED, Imported, TakenIn
from tapewright.book.kinds import KINDS
from tapewright.book.soundness import Soundness


def kinds_document() -> dict[str, Any]:
    """Return `tapewright/kinds/1`."""
    return {
        "format": "tapewright/kinds/1",
        "kinds": {
            kind: {"says": says, "fields": [_field(field) for field in FIELDS[kind]]} for kind, says in KINDS.items()
        },
    }


def kinds_text() -> str:
    """List them for a person; a star stands by a field that must be there."""
    return "\n\n".join(f"{kind}: {says}\n" + "\n".join(_line(f) for f in FIELDS[kind]) for kind, says in KINDS.items())


def holds(field: Field) -> str:
    """Say what a field holds."""
    return " | ".join(field.words) if field.words else FORMS[field.form][1]


def _line(field: Field) -> str:
    return f"  {'*' if field.must else ' '} {field.name:16s} {field.says} ({holds(field)})"


def _field(field: Field) -> dict[str, Any]:
    form = {"signal": "text", "files": "list"}.get(field.form, field.form)
    return {"name": field.name, "holds": form, "must": field.must, "words": list(field.words), "says": field.says}


MIB = 1024**2


def exported_text(exported: Exported, out: Path) -> str:
    """Say what was written."""
    manifest = exported.manifest
    lines = [
        f"{out}: {counted(manifest.entries, 'line')} about {counted(len(manifest.machines), 'machine')}, "
        f"{counted(exported.raw_files, 'raw file')}, {exported.bytes / MIB:.1f} MiB unpacked."
    ]
    lines += [f"  {m.name}: {counted(m.entries, 'line')}" for m in manifest.machines]
    if manifest.left_out:
        lines.append(f"{counted(manifest.left_out, 'line')} not whole: as text in left-out.jsonl, for people only.")
    lines.append(f"Fingerprint of all of it: {exported.fingerprint}")
    return "\n".join(lines)


def exported_document(exported: Exported, out: Path) -> dict[str, Any]:
    """Return the document tapewright/book-export/1."""
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
    for chain in imported.chains:
        yield f"  {_name_in(imported, chain.machine)}: {chain}."
        yield from (f"  {_name_in(imported, chain.machine)}: {remark}." for remark in chain.remarks)
    if imported.dangling:
        named = ", ".join(key[:12] for key in imported.dangling[:MOST_NAMED])
        more = f" and {len(imported.dangling) - MOST_NAMED} more" if len(imported.dangling) > MOST_NAMED else ""
        yield f"Some lines name lines that are neither in the book nor in the bundle: {named}{more}."


def _name_in(imported: Imported, key: str) -> str:
    return next((machine.name for machine in imported.machines if machine.packed.key == key), key)


def chains_document(chains: Iterable[Chain]) -> list[dict[str, object]]:
    """Return what each bench wrote about each machine, and whether its chain is whole."""
    return [
        {
            "machine": chain.machine,
            "bench": chain.bench or None,
            "name": chain.name or None,
            "lines": chain.lines,
            "whole": bool(chain.bench) and not chain.faults,
            "says": str(chain),
            "faults": list(chain.faults),
            "remarks": list(chain.remarks),
        }
        for chain in chains
    ]


def _machine(machine: TakenIn) -> str:
    name = machine.packed.name
    if machine.was_there:
        return f"{machine.name}: was in the book, and has now all lines of both.{_older(machine.older)}"
    if machine.name != name:
        return f"{name}: another machine has this name here; it is now {machine.name!r}, key {machine.packed.key}."
    return f"{name}: new, {counted(machine.packed.entries, 'line')}."


def _older(older: int) -> str:
    """Say that lines were put in before others: a book counts in the order of time."""
    if not older:
        return ""
    are, stand = ("is", "stands") if older == 1 else ("are", "stand")
    return (
        f" {counted(older, 'line')} taken in {are} older than the newest that stood here, and {stand} before it: "
        "a book counts in the order of time, so that numbers of lines have moved. See `machine history`."
    )


def imported_document(imported: Imported, bundle: Path) -> dict[str, Any]:
    """Return the document tapewright/book-import/1."""
    return {
        "format": "tapewright/book-import/1",
        "file": str(bundle),
        "new": imported.new,
        **(_manifest(imported.manifest) | {"machines": [_taken_in(m) for m in imported.machines]}),
        "dangling": list(imported.dangling),
        "chains": chains_document(imported.chains),
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


def backed_up_text(done: BackedUp) -> str:
    """Say what was written."""
    form = "a copy of the book" if done.form == "copy" else "a bundle (a server's book cannot be copied as a file)"
    return "\n".join(
        [
            f"{done.file}: {form}, checked: {_size(done.found)}, all whole.",
            f"Keep it on another disk than the book. Try it: tapewright book restore {done.file} --book tried.book",
        ]
    )


def backed_up_document(done: BackedUp) -> dict[str, Any]:
    """Return the document tapewright/book-backup/1."""
    return {
        "format": "tapewright/book-backup/1",
        "book": done.book,
        "file": str(done.file),
        "form": done.form,
        **_counts(done.found),
    }


def restored_text(done: Restored) -> str:
    """Say what was restored, and where the old book is."""
    return "\n".join(_restored(done))


def _restored(done: Restored) -> Iterator[str]:
    yield f"{done.book}: restored from {done.file}, which was checked first: {_size(done.found)}, all whole."
    if done.gone:
        yield f"No longer in the book: {counted(done.gone, 'line')} that the backup lacks."
    if done.kept is not None:
        yield f"The book as it was is kept: {done.kept}"


def restored_document(done: Restored) -> dict[str, Any]:
    """Return the document tapewright/book-restore/1."""
    return {
        "format": "tapewright/book-restore/1",
        "book": done.book,
        "file": str(done.file),
        "gone": done.gone,
        "kept": str(done.kept) if done.kept is not None else None,
        **_counts(done.found),
    }


def _size(found: Soundness) -> str:
    return (
        f"{counted(found.lines, 'line')} about {counted(len(found.machines), 'machine')}, "
        f"{counted(found.raw_files, 'raw file')}"
    )


def _counts(found: Soundness) -> dict[str, int]:
    return {"machines": len(found.machines), "lines": found.lines, "raw_files": found.raw_files}


MOST_SHOWN = 20
HOW_TO_SAVE = (
    "What to do: leave this book as it is, and copy the file aside first. Then",
    "  the last backup:      tapewright book restore BACKUP",
    "  or what is whole:     tapewright book export --whole-only -o saved.zip",
    "                        tapewright book import saved.zip --book new.book",
)


def check_text(found: Soundness, said: str) -> str:
    """Say what is whole, what is not, and how to save it."""
    return "\n".join(_lines(found, said))


def _lines(found: Soundness, said: str) -> Iterator[str]:
    whole = (
        f"{found.whole_lines} of {counted(found.lines, 'line')} and {found.whole_raw_files} of "
        f"{counted(found.raw_files, 'raw file')} are whole"
    )
    if not found.faults:
        lines, files = counted(found.lines, "line"), counted(found.raw_files, "raw file")
        yield f"{said}: nothing wrong. {lines} and {files}, all whole."
        signed = Counter[str]()
        for chain in found.chains:
            signed[chain.name] += chain.lines if chain.bench and chain.name else 0
        yield from (f"  {counted(n, 'line')} signed by {name}" for name, n in signed.items() if n)
    else:
        yield f"{said} is damaged. {whole}."
        for machine in found.machines:
            yield f"  {machine.name}: {machine.whole} of {counted(machine.lines, 'line')} whole"
        yield "Found:"
        for fault in found.faults[:MOST_SHOWN]:
            yield f"  {fault.place}: {fault.what}"
        if len(found.faults) > MOST_SHOWN:
            yield f"  and {len(found.faults) - MOST_SHOWN} more (all with --json)"
        yield from HOW_TO_SAVE
    yield from (f"Mind: {remark}" for remark in found.remarks)


def check_document(found: Soundness, said: str) -> dict[str, Any]:
    """Return the document."""
    return {
        "format": "tapewright/book-check/1",
        "book": said,
        "whole": not found.faults,
        "lines": found.lines,
        "whole_lines": found.whole_lines,
        "raw_files": found.raw_files,
        "whole_raw_files": found.whole_raw_files,
        "machines": [{"key": m.key, "name": m.name, "lines": m.lines, "whole_lines": m.whole} for m in found.machines],
        "faults": [{"place": fault.place, "what": fault.what} for fault in found.faults],
        "remarks": list(found.remarks),
        "chains": chains_document(found.chains),
    }
