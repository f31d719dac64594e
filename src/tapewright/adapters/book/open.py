"""Open a book, or begin one."""

from datetime import UTC, datetime

from tapewright import __version__
from tapewright.adapters.book.engine import can_be_written, engine_for
from tapewright.adapters.book.migrate import bring_up_to_date
from tapewright.adapters.book.place import place_of
from tapewright.adapters.book.refusals import plainly
from tapewright.adapters.book.sql_book import Clock, SqlBook
from tapewright.errors import InputError


def utc_now() -> datetime:
    """Give the time of this computer's clock."""
    return datetime.now(UTC)


def open_book(
    where: str | None = None, *, create: bool = True, clock: Clock = utc_now, program: str = __version__
) -> SqlBook:
    """Open the book in a file or on a server; begin one where there is none and `create` allows.

    Args:
        where: a file, an address, or None for the user's own book.
        create: whether to begin a book where there is none.
        clock: gives the time.
        program: version written beside each line.

    Raises:
        InputError: when it cannot be opened, is no book, or is one of a later program.
    """
    place = place_of(where)
    if place.file is not None and not place.file.exists():
        if not create:
            raise InputError(place.said, expected="a book", found="no such file",
                             do="`tapewright machine add NAME` begins one, or give another with --book.")  # fmt: skip
        place.file.absolute().parent.mkdir(parents=True, exist_ok=True)
    writable = place.file is None or can_be_written(place.file)
    with plainly(place.said):
        engine = engine_for(place)
        try:
            bring_up_to_date(engine, place.said, create=create and writable, writable=writable)
        except BaseException:
            engine.dispose()
            raise
    return SqlBook(engine, place.said, clock=clock, program=program, file=place.file)
