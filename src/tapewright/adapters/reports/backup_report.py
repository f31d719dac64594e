"""What a backup or a restore did, in words and as documents."""

from collections.abc import Iterator
from typing import Any

from tapewright.adapters.reports.bundle_report import counted
from tapewright.app.back_up import BackedUp, Restored
from tapewright.core.book.soundness import Soundness


def backed_up_text(done: BackedUp) -> str:
    """Say what was written."""
    form = "a copy of the book" if done.form == "copy" else "a bundle (a server's book cannot be copied as a file)"
    return "\n".join([
        f"{done.file}: {form}, checked: {_size(done.found)}, all whole.",
        f"Keep it on another disk than the book. Try it: tapewright book restore {done.file} --book tried.book",
    ])  # fmt: skip


def backed_up_document(done: BackedUp) -> dict[str, Any]:
    """Give the document tapewright/book-backup/1."""
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
    """Give the document tapewright/book-restore/1."""
    return {
        "format": "tapewright/book-restore/1",
        "book": done.book,
        "file": str(done.file),
        "gone": done.gone,
        "kept": str(done.kept) if done.kept is not None else None,
        **_counts(done.found),
    }


def _size(found: Soundness) -> str:
    return f"{counted(found.lines, 'line')} about {counted(len(found.machines), 'machine')}, " \
           f"{counted(found.raw_files, 'raw file')}"  # fmt: skip


def _counts(found: Soundness) -> dict[str, int]:
    return {"machines": len(found.machines), "lines": found.lines, "raw_files": found.raw_files}
