"""What a check of a book found, in words and as the document tapewright/book-check/1."""

from collections.abc import Iterator
from typing import Any

from tapewright.adapters.reports.bundle_report import counted
from tapewright.core.book.soundness import Soundness

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
    whole = f"{found.whole_lines} of {counted(found.lines, 'line')} and {found.whole_raw_files} of " \
            f"{counted(found.raw_files, 'raw file')} are whole"  # fmt: skip
    if not found.faults:
        lines, files = counted(found.lines, "line"), counted(found.raw_files, "raw file")
        yield f"{said}: nothing wrong. {lines} and {files}, all whole."
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
    """Give the document."""
    return {
        "format": "tapewright/book-check/1",
        "book": said,
        "whole": not found.faults,
        "lines": found.lines,
        "whole_lines": found.whole_lines,
        "raw_files": found.raw_files,
        "whole_raw_files": found.whole_raw_files,
        "machines": [
            {"key": m.key, "name": m.name, "lines": m.lines, "whole_lines": m.whole} for m in found.machines
        ],
        "faults": [{"place": fault.place, "what": fault.what} for fault in found.faults],
        "remarks": list(found.remarks),
    }
