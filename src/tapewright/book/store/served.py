"""A book that cannot be copied as a file (a server's), or a backup that is a bundle: lines go out and in one by one.

Nothing that a book holds is lost by that: what it has and the backup lacks stays.
"""

from contextlib import closing
from functools import partial
from pathlib import Path

from tapewright.book.back_up import Form
from tapewright.book.bundle.members import Limits
from tapewright.book.bundle.zip_reader import ZipReader
from tapewright.book.bundle.zip_writer import new_bundle
from tapewright.book.export_book import export_book, lines_as_they_stand
from tapewright.book.import_book import check_bundle, import_book
from tapewright.book.soundness import MachineWhole, Soundness
from tapewright.book.store.damaged import check_file, open_to_examine
from tapewright.book.store.open import open_book
from tapewright.book.store.whole_file import is_sqlite
from tapewright.furniture.record import Progress

#: a backup is one's own: it may be as large as the disk
NO_TOTAL = Limits(members=10**7, total_bytes=2**60)


class ServedBook:
    """A book by its address.

    Attributes:
        said: what to call it.
        form: a backup of it is a bundle.
    """

    form: Form = "bundle"

    def __init__(self, where: str | None, said: str, program: str) -> None:
        self.said, self._where, self._program = said, where, program

    def write_backup(self, to: Path, progress: Progress) -> None:
        """Write the whole book as a bundle."""
        with closing(open_book(self._where, create=False)) as book:
            lines = lines_as_they_stand(book, None)
            export_book(book, lines, self._program, partial(new_bundle, to, NO_TOTAL), progress)

    def check_backup(self, backup: Path, progress: Progress) -> Soundness:
        """Look through a backup."""
        if is_sqlite(backup):
            return check_file(str(backup), self._program, progress)
        with ZipReader(backup, NO_TOTAL) as bundle:
            checked = check_bundle(bundle, str(backup), progress)
            manifest, files = bundle.manifest, len(checked.files)
        machines = tuple(MachineWhole(m.key, m.name, m.entries, m.entries) for m in manifest.machines)
        return Soundness(manifest.entries, manifest.entries, files, files, machines, ())

    def only_here(self, backup: Path) -> int:
        """Count what would be lost: nothing, since a backup is taken in beside what is there."""
        return 0

    def take_backup(self, backup: Path, progress: Progress, *, keep_old: bool) -> Path | None:
        """Take in all lines that the book lacks, all or nothing."""
        with closing(open_book(self._where)) as book:
            if is_sqlite(backup):
                copy, _ = open_to_examine(str(backup), self._program)  # reads it, and leaves it as it is
                with closing(copy):
                    book.take_in(copy.read_through(), {name: partial(copy.raw, name) for name in copy.raw_files()})
            else:
                with ZipReader(backup, NO_TOTAL) as bundle:
                    import_book(book, check_bundle(bundle, str(backup), progress), progress, rename=False)
        return None
