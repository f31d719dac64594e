"""Back a book up while others write to it, and restore it: `book backup`, `book restore`.

backup     a copy of the SQLite file, or from a server a bundle  >  checked  >  under its name
restore    the backup checked  >  what would be lost counted  >  the old book kept aside  >  the backup in its place
"""

import os
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, Protocol

from tapewright.book.soundness import Soundness
from tapewright.errors import InputError, WrongUseError
from tapewright.furniture.record import Progress

Form = Literal["copy", "bundle"]
#: what is written before a backup or bundle has its name, with the number of the program that writes it
LEFT_OVER = re.compile(r"\.+.+\.(\d{1,9})\.(?:unchecked|half)(?:-wal|-shm|-journal)?")


class Shelf(Protocol):
    """Where the book lies, and what can be done with it as a whole."""

    said: str
    form: Form

    def write_backup(self, to: Path, progress: Progress) -> None:
        """Write a backup of the book as it stands at this moment."""
        ...

    def check_backup(self, backup: Path, progress: Progress) -> Soundness:
        """Look through a backup."""
        ...

    def only_here(self, backup: Path) -> int:
        """Count the whole lines of the book that the backup lacks."""
        ...

    def take_backup(self, backup: Path, progress: Progress, *, keep_old: bool) -> Path | None:
        """Put the backup in the place of the book; give where the old book was kept, None when it was not."""
        ...


@dataclass(frozen=True, slots=True)
class BackedUp:
    """A backup that was written and found whole.

    Attributes:
        book: what was backed up.
        file: where to.
        form: a copy of the SQLite file, or a bundle.
        found: what the check of the backup found.
    """

    book: str
    file: Path
    form: Form
    found: Soundness


@dataclass(frozen=True, slots=True)
class Restored:
    """A restore that was done.

    Attributes:
        book: what was restored.
        file: from what.
        found: what the check of the backup found.
        gone: lines of the old book that the backup lacks.
        kept: where the old book lies now; None when the backup holds all of it, or there was none.
    """

    book: str
    file: Path
    found: Soundness
    gone: int
    kept: Path | None


def back_up(shelf: Shelf, to: Path, progress: Progress, *, overwrite: bool) -> BackedUp:
    """Write a backup and check it; one that is not whole is not kept.

    Raises:
        InputError: when there is a file already, the backup cannot be written, or the book is damaged.
    """
    if to.exists() and not overwrite:
        raise InputError(
            str(to),
            expected="a name that is free",
            found="a file",
            do="Give another, with the date in it for example, or --overwrite.",
        )
    sweep(to.absolute().parent)
    half = to.with_name(f".{to.name}.{os.getpid()}.unchecked")
    try:
        shelf.write_backup(half, lambda done: progress(done / 2))
        found = shelf.check_backup(half, lambda done: progress(0.5 + done / 2))
        if found.faults:
            raise InputError(
                shelf.said,
                expected="a book that is whole",
                found=f"damage: {_first(found)}",
                do="No backup was written, so that none passes for good. `tapewright book check` says more.",
            )
        half.replace(to)
    finally:
        half.unlink(missing_ok=True)
    return BackedUp(shelf.said, to, shelf.form, found)


def sweep(folder: Path) -> None:
    """Delete what backups and exports that were killed left half-written in a folder; what is being written stays."""
    for file in folder.glob(".*"):
        found = LEFT_OVER.fullmatch(file.name)
        if found and not _runs(int(found[1])):
            file.unlink(missing_ok=True)


def _runs(process: int) -> bool:
    """Return whether there is a program of this number; where that cannot be asked, True."""
    if os.name != "posix":
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def restore(shelf: Shelf, backup: Path, progress: Progress, *, yes: bool) -> Restored:
    """Put a backup in the place of the book.

    Raises:
        InputError: when the backup is not whole.
        WrongUseError: when the book holds lines that the backup lacks, and `yes` was not said.
    """
    found = shelf.check_backup(backup, progress)
    if found.faults:
        raise InputError(
            str(backup),
            expected="a backup that is whole",
            found=f"damage: {_first(found)}",
            do="The book was left as it is.",
        )
    gone = shelf.only_here(backup)
    if gone and not yes:
        raise WrongUseError(
            f"{shelf.said} holds {gone} line{'s' * (gone != 1)} that {backup} lacks; it was left as it is. Save them "
            "first (`tapewright book export -o saved.zip`, with --whole-only from a damaged book), restore with --yes, "
            "then take them in again (`tapewright book import saved.zip`). With --yes the book as it is now is kept "
            "beside the new one."
        )
    kept = shelf.take_backup(backup, progress, keep_old=bool(gone))
    return Restored(shelf.said, backup, found, gone, kept)


def _first(found: Soundness) -> str:
    fault = found.faults[0]
    more = f", and {len(found.faults) - 1} more" if len(found.faults) > 1 else ""
    return f"{fault.place}: {fault.what}{more}"
