"""Sheet and trials of a machine, taken out of the book for `trim`.

What the book holds for a trim: the machine's sheet, for limits, and its newest trials; FINGERPRINT and name.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from tapewright.book.entry import Entry
from tapewright.book.gauges_in_book import sheet_in_book
from tapewright.book.ports import Book
from tapewright.errors import InputError

TRIALS = "trials"
#: lines of kind "trial" looked through: one may be of something else, such as a key tried before and after
MOST_LINES_BACK = 20


@dataclass(frozen=True, slots=True)
class Held:
    """A file of the book.

    Attributes:
        sha256: its fingerprint.
        name: its name.
        line: the line it stands with.
        variant: of the machine, for a sheet.
    """

    sha256: str
    name: str
    line: Entry
    variant: str = ""


def newest_trials(book: Book, machine: str) -> Held | None:
    """Return the newest trials of a machine's screws; None when there are none.

    Args:
        book: where they are.
        machine: key.
    """
    for line in book.entries(machine, kinds=("trial",), limit=MOST_LINES_BACK):
        file = next((s for s in line.new.body.get("sources", ()) if s.get("role") == TRIALS), None)
        if file is not None:
            return Held(file["sha256"], file["name"], line)
    return None


def sheet_held(book: Book, machine: str) -> Held | None:
    """Return the machine's sheet; None when it has none."""
    try:
        there = sheet_in_book(book, machine)
    except InputError:
        return None
    sha256, _, name = there.sheet.partition("/")
    return Held(sha256, name, there.line, there.variant)


#: a trials file that names this takes limits from the sheet
NAMES_THE_SHEET = b"requirement"


def taken_for_trim(
    book: Book, machine: str, files: Mapping[str, Path], folder: Path
) -> tuple[dict[str, Path], dict[str, Held]]:
    """Return the files of a trim, as `record.fetch_for_trim` says."""
    whole = dict(files)
    taken: dict[str, Held] = {}
    key = book.machine(machine).key
    if TRIALS not in whole:
        trials = newest_trials(book, key)
        if trials is None:
            raise InputError(
                f"machine {machine!r}",
                expected="trials of screws in the book",
                found="none",
                do="Give a trials file, or begin on the bench's page Trials.",
            )
        taken[TRIALS], whole[TRIALS] = trials, _copy(book, trials, folder)
    sheet = None if "sheet" in whole else sheet_held(book, key)
    if sheet is not None and NAMES_THE_SHEET in whole[TRIALS].read_bytes():
        taken["sheet"], whole["sheet"] = sheet, _copy(book, sheet, folder)
    return whole, taken


def _copy(book: Book, held: Held, folder: Path) -> Path:
    # a folder of its own: the fingerprint cannot lead out of it, and both files may have one name
    place = folder / held.sha256
    place.mkdir()
    with book.raw(held.sha256) as stream:
        (place / Path(held.name).name).write_bytes(stream.read())
    return place / Path(held.name).name
