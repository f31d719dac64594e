"""Sheet and trials of a machine, taken out of the book for `trim`."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from tapewright.errors import InputError
from tapewright.wiring.books import open_book

if TYPE_CHECKING:
    from tapewright.app.ports import Book
    from tapewright.app.trim_from_book import Held

#: a trials file that names this takes limits from the sheet
NAMES_THE_SHEET = b"requirement"


def fetch_for_trim(
    where: str | None, machine: str, files: Mapping[str, Path], folder: Path
) -> "tuple[dict[str, Path], dict[str, Held]]":
    """Give the files of a trim with what was not given taken from the machine's record, and what was taken.

    Args:
        where: the book; None is the user's own.
        machine: name or key.
        files: "trials" and "sheet", as far as they were given.
        folder: where copies go.

    Raises:
        InputError: no such book or machine; no trials given, and none in the book.
    """
    from tapewright.app.trim_from_book import TRIALS, newest_trials, sheet_held

    book, whole = open_book(where, create=False), dict(files)
    taken: dict[str, Held] = {}
    try:
        key = book.machine(machine).key
        if TRIALS not in whole:
            trials = newest_trials(book, key)
            if trials is None:
                raise InputError(f"machine {machine!r}", expected="trials of screws in the book", found="none",
                                 do="Give a trials file, or begin on the bench's page Trials.")  # fmt: skip
            taken[TRIALS], whole[TRIALS] = trials, _copy(book, trials, folder)
        sheet = None if "sheet" in whole else sheet_held(book, key)
        if sheet is not None and NAMES_THE_SHEET in whole[TRIALS].read_bytes():
            taken["sheet"], whole["sheet"] = sheet, _copy(book, sheet, folder)
        return whole, taken
    finally:
        book.close()


def _copy(book: "Book", held: "Held", folder: Path) -> Path:
    # a folder of its own: the fingerprint cannot lead out of it, and both files may have one name
    place = folder / held.sha256
    place.mkdir()
    with book.raw(held.sha256) as stream:
        (place / Path(held.name).name).write_bytes(stream.read())
    return place / Path(held.name).name
