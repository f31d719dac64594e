"""Which adapters carry a book: bundles, backups, and a look through a damaged one."""

from pathlib import Path
from typing import TYPE_CHECKING

from tapewright.book.record import program_version

if TYPE_CHECKING:
    from tapewright.book.back_up import Shelf
    from tapewright.book.bundle.zip_reader import ZipReader
    from tapewright.book.export_book import Exported, NewBundle
    from tapewright.book.soundness import Soundness
    from tapewright.furniture.record import Progress


def new_bundle(path: Path) -> "NewBundle":
    """Return what opens a new bundle at this place."""
    from functools import partial

    from tapewright.book.bundle.members import Limits
    from tapewright.book.bundle.zip_writer import new_bundle as opened

    return partial(opened, path, Limits())


def open_bundle(path: Path, *, largest_gib: float) -> "ZipReader":
    """Open a bundle for reading; its envelope and manifest are checked.

    Raises:
        InputError: when it is no bundle, or larger than allowed.
    """
    from tapewright.book.bundle.members import GIB, Limits
    from tapewright.book.bundle.zip_reader import ZipReader

    return ZipReader(path, Limits(total_bytes=int(largest_gib * GIB)))


def check_the_book(where: str | None, progress: "Progress") -> "tuple[Soundness, str]":
    """Look through a book that may be damaged; give what was found, and what to call the book.

    Raises:
        InputError: when there is none.
    """
    from tapewright.book.store.damaged import check_file
    from tapewright.book.store.place import place_of

    return check_file(where, program_version(), progress), place_of(where).said


def shelf_of(where: str | None, *, backup: Path | None = None) -> "Shelf":
    """Return where a book lies, for backup and restore.

    Args:
        where: the book.
        backup: the backup to restore; a bundle is taken in, not put in the book's place.
    """
    from tapewright.book.store.place import place_of
    from tapewright.book.store.served import ServedBook
    from tapewright.book.store.whole_file import BookFile, is_sqlite

    place = place_of(where)
    if place.file is not None and (backup is None or is_sqlite(backup)):
        return BookFile(place.said, place.file, program_version())
    return ServedBook(where, place.said, program_version())


def save_what_is_whole(where: str | None, out: Path, progress: "Progress") -> "Exported":
    """Write what is whole of a damaged book as a bundle.

    Raises:
        InputError: when there is no book, or the bundle cannot be written.
    """
    from tapewright.book.export_book import export_book
    from tapewright.book.save_what_is_whole import whole_only
    from tapewright.book.store.damaged import open_to_examine
    from tapewright.book.store.examine import examining
    from tapewright.book.store.open import utc_now

    book, _ = open_to_examine(where, program_version())
    try:
        with examining(book) as examiner:
            found = whole_only(examiner, utc_now(), program_version())
            files = examiner.only(found.files)
            return export_book(files, found.lines, program_version(), new_bundle(out), progress)
    finally:
        book.close()
