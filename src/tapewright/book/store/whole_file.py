"""A SQLite book as one file: backup by copying it online, restore by putting a copy in its place."""

from contextlib import closing
from pathlib import Path

from tapewright.book.back_up import Form
from tapewright.book.soundness import Soundness
from tapewright.book.store.copy_file import copy_book, copy_into, free_name, put_aside
from tapewright.book.store.damaged import SQLITE_BEGINS, check_file, whole_keys
from tapewright.book.store.open import open_book
from tapewright.errors import InputError
from tapewright.furniture.record import Progress


class BookFile:
    """The file of one book.

    Attributes:
        said: what to call it.
        form: a backup of it is a copy.
    """

    form: Form = "copy"

    def __init__(self, said: str, file: Path, program: str) -> None:
        self.said, self._file, self._program = said, file, program

    def write_backup(self, to: Path, progress: Progress) -> None:
        """Copy the book as it stands at this moment."""
        with closing(open_book(str(self._file), create=False)):
            copy_book(self._file, to, progress)

    def check_backup(self, backup: Path, progress: Progress) -> Soundness:
        """Look through a backup."""
        if not is_sqlite(backup):
            raise InputError(str(backup), expected="a backup (a SQLite file) or a bundle", found="another kind of file")
        return check_file(str(backup), self._program, progress)

    def only_here(self, backup: Path) -> int:
        """Count the whole lines that the backup lacks."""
        if not self._file.exists():
            return 0
        return len(whole_keys(str(self._file), self._program) - whole_keys(str(backup), self._program))

    def take_backup(self, backup: Path, progress: Progress, *, keep_old: bool) -> Path | None:
        """Put the backup in the place of the book, whole or not at all; what is damaged is never overwritten."""
        if not self._file.exists():
            self._file.absolute().parent.mkdir(parents=True, exist_ok=True)
            kept = put_aside(self._file, "left-over") if self._left_over() else None
            copy_book(backup, self._file, progress)
            return kept
        if check_file(str(self._file), self._program, lambda _: None).faults:
            kept = put_aside(self._file, "damaged")
            copy_book(backup, self._file, progress)
            return kept
        kept = free_name(self._file, "before-restore") if keep_old else None
        if kept is not None:
            copy_book(self._file, kept, lambda _: None)
        copy_into(backup, self._file, progress)
        return kept

    def _left_over(self) -> bool:
        """Return whether a journal lies there without its book: SQLite would take it for the new one's."""
        return any(self._file.with_name(self._file.name + end).exists() for end in ("-wal", "-shm", "-journal"))


def is_sqlite(file: Path) -> bool:
    """Return whether a file begins as SQLite's do."""
    with file.open("rb") as opened:
        return opened.read(len(SQLITE_BEGINS)) == SQLITE_BEGINS
