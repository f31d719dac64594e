"""Bring a book up to date: a new one gets its tables, an older one the steps it lacks, a newer one is refused."""

from sqlalchemy import Connection, Engine, inspect, text

from tapewright.adapters.book.engine import begin_writing, write_ahead
from tapewright.errors import InputError

VERSION_TABLE = "book_version"
#: The newest step in migrations/versions; a test holds the two together.
NEWEST = "0001"
KNOWN = ("0001",)


def bring_up_to_date(engine: Engine, said: str, *, create: bool, writable: bool) -> None:
    """See to it that the book has the newest form.

    Args:
        engine: connection to the book.
        said: what to call it in messages.
        create: whether an empty database may become a book.
        writable: whether it can be written at all.

    Raises:
        InputError: when it is no book, or one of a later program, or there is none and none may be made.
    """
    with engine.connect() as connection:
        version = _version(connection, said, create=create)
    if writable:
        write_ahead(engine)
    if version == NEWEST:
        return
    # alembic takes a quarter of a second to load: only when there is work for it
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "tapewright.adapters.book:migrations")
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        begin_writing(connection)
        if _version(connection, said, create=create) != NEWEST:  # another bench may have been quicker
            config.attributes["connection"] = connection
            command.upgrade(config, "head")


def _version(connection: Connection, said: str, *, create: bool) -> str | None:
    if inspect(connection).has_table(VERSION_TABLE):
        version = connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()
        if version in KNOWN:
            return str(version)
        raise InputError(said, expected=f"a book of form {NEWEST} or older", found=f"form {version}",
                         do="It was written by a newer Tapewright; use that one.")  # fmt: skip
    if tables := inspect(connection).get_table_names():
        raise InputError(said, expected="a book", found=f"a database with other tables: {', '.join(tables[:5])}",
                         do="It was left as it is. Give another with --book.")  # fmt: skip
    if not create:
        raise InputError(said, expected="a book", found="an empty database",
                         do="`tapewright machine add NAME` begins one.")  # fmt: skip
    return None
