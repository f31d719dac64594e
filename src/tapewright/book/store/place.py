"""Where a book lies: a file, a PostgreSQL server, or the user's data folder when nothing is said."""

import os
import re
import sys
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote, unquote

from tapewright.errors import InputError

FILE_NAME = "workshop.book"
DRIVER = "postgresql+psycopg"
#: beginnings of a PostgreSQL address -> what the library wants to see
SERVERS = ("postgresql://", "postgres://", "postgresql+psycopg://")


@dataclass(frozen=True, slots=True)
class Place:
    """Where a book lies.

    Attributes:
        said: for messages; never shows a password.
        file: the SQLite file, None for a server.
        url: address for the database library.
    """

    said: str
    file: Path | None
    url: str


def place_of(where: str | None) -> Place:
    """Understand a file name or an address; nothing said is one file in the user's data folder.

    Raises:
        InputError: for an address of another kind.
    """
    where = where or str(data_folder() / FILE_NAME)
    if where.startswith(SERVERS):
        return _server(where)
    if where.startswith("sqlite:///"):
        where = where.removeprefix("sqlite:///")
    elif "://" in where:
        raise InputError(
            _without_password(where),
            expected="a file, or an address that begins with postgresql://",
            found=f"one that begins with {where.split('://')[0]}://",
        )
    return Place(where, Path(where), "sqlite+pysqlite://")


def data_folder() -> Path:
    """Return the folder where programs keep what belongs to the user, by the custom of the system."""
    home = Path.home()
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local") / "Tapewright"
    if sys.platform == "darwin":
        return home / "Library" / "Application Support" / "Tapewright"
    # XDG Base Directory Specification: an unset or relative value stands for ~/.local/share
    folder = Path(os.environ.get("XDG_DATA_HOME") or "")
    return (folder if folder.is_absolute() else home / ".local" / "share") / "tapewright"


def _server(where: str) -> Place:
    rest = where.split("://", 1)[1]
    before, at, host = rest.rpartition("@")
    user, colon, password = before.partition(":")
    # an at sign or a slash in a password would end it for the library, and its tail would pass for the host
    whole = f"{user}{colon}{quote(unquote(password), safe='')}{at}{host}"
    return Place(_without_password(where), None, f"{DRIVER}://{whole}")


def _without_password(where: str) -> str:
    scheme, _, rest = where.partition("://")
    before, at, host = rest.rpartition("@")
    user = before.partition(":")[0]
    return re.sub(r"(?i)(password=)[^&]*", r"\1...", f"{scheme}://{user}{at}{host}")
