"""What the book holds for a trim: the machine's sheet, for limits, and its newest trials; FINGERPRINT and name."""

from dataclasses import dataclass

from tapewright.app.check_from_book import sheet_in_book
from tapewright.app.ports import Book
from tapewright.core.book.entry import Entry
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
    """Give the newest trials of a machine's screws; None when there are none.

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
    """Give the machine's sheet; None when it has none."""
    try:
        there = sheet_in_book(book, machine)
    except InputError:
        return None
    sha256, _, name = there.sheet.partition("/")
    return Held(sha256, name, there.line, there.variant)
