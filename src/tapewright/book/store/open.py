"""Open a book, or begin one.

Bring a book up to date: a new one gets its tables, an older one the steps it lacks, a newer one is refused.
"""

from datetime import UTC, datetime

from sqlalchemy import Connection, Engine, inspect, text

from tapewright import __version__
from tapewright.book.keys import own_key
from tapewright.book.store.engine import begin_writing, can_be_written, engine_for, write_ahead
from tapewright.book.store.place import place_of
from tapewright.book.store.refusals import plainly
from tapewright.book.store.sql_book import Clock, Signer, SqlBook
from tapewright.errors import InputError

VERSION_TABLE = "book_version"
#: The newest step in migrations/versions; a test holds the two together.
NEWEST = "0002"
KNOWN = ("0001", "0002")


def bring_up_to_date(engine: Engine, said: str, *, create: bool, writable: bool, as_it_is: bool = False) -> str | None:
    """See to it that the book has the newest form.

    Args:
        engine: connection to the book.
        said: what to call it in messages.
        create: whether an empty database may become a book.
        writable: whether it can be written at all.
        as_it_is: an older form is left as it is.

    Returns:
        the form it had; None for an empty database.

    Raises:
        InputError: when it is no book, or one of a later program, or there is none and none may be made.
    """
    with engine.connect() as connection:
        version = _version(connection, said, create=create)
    if writable:
        write_ahead(engine)
    if version == NEWEST or as_it_is:
        return version
    if version is not None and not writable:
        raise InputError(said, expected=f"a book of form {NEWEST}, or one that can be written", found=f"form {version}",
                         do="Copy it to a place where it can be written, and open the copy.")  # fmt: skip
    # alembic takes a quarter of a second to load: only when there is work for it
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "tapewright.book.store:migrations")
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        begin_writing(connection)
        if _version(connection, said, create=create) != NEWEST:  # another bench may have been quicker
            config.attributes["connection"] = connection
            command.upgrade(config, "head")
    return version


def _version(connection: Connection, said: str, *, create: bool) -> str | None:
    if inspect(connection).has_table(VERSION_TABLE):
        version = connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()
        if version in KNOWN:
            return str(version)
        raise InputError(
            said,
            expected=f"a book of form {NEWEST} or older",
            found=f"form {version}",
            do="It was written by a newer Tapewright; use that one.",
        )
    if tables := inspect(connection).get_table_names():
        raise InputError(
            said,
            expected="a book",
            found=f"a database with other tables: {', '.join(tables[:5])}",
            do="It was left as it is. Give another with --book.",
        )
    if not create:
        raise InputError(
            said, expected="a book", found="an empty database", do="`tapewright machine add NAME` begins one."
        )
    return None


def utc_now() -> datetime:
    """Return the time of this computer's clock."""
    return datetime.now(UTC)


def open_book(
    where: str | None = None,
    *,
    create: bool = True,
    clock: Clock = utc_now,
    program: str = __version__,
    signer: Signer = own_key,
) -> SqlBook:
    """Open the book in a file or on a server; begin one where there is none and `create` allows.

    Args:
        where: a file, an address, or None for the user's own book.
        create: whether to begin a book where there is none.
        clock: gives the time.
        program: version written beside each line.
        signer: gives the key of the bench, when the first line is written.

    Raises:
        InputError: when it cannot be opened, is no book, or is one of a later program.
    """
    place = place_of(where)
    if place.file is not None and not place.file.exists():
        if not create:
            raise InputError(
                place.said,
                expected="a book",
                found="no such file",
                do="`tapewright machine add NAME` begins one, or give another with --book.",
            )
        place.file.absolute().parent.mkdir(parents=True, exist_ok=True)
    writable = place.file is None or can_be_written(place.file)
    with plainly(place.said):
        engine = engine_for(place)
        try:
            bring_up_to_date(engine, place.said, create=create and writable, writable=writable)
        except BaseException:
            engine.dispose()
            raise
    return SqlBook(engine, place.said, clock=clock, program=program, file=place.file, signer=signer)
