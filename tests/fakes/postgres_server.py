"""A real PostgreSQL server of its own, in a folder that is thrown away."""

import os
import pwd
import shutil
import subprocess
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg

INSTALL = "PostgreSQL is not installed, and the book must work on it: apt install postgresql"
#: a server does not run as root; one of these users is there on Debian
UNPRIVILEGED = ("postgres", "nobody")


class PostgresServer:
    """A running server; gives an empty database as often as asked."""

    def __init__(self, socket_folder: Path) -> None:
        self._where = f"host={socket_folder} user=postgres"
        self._query = f"?host={socket_folder}"

    def new_database(self) -> str:
        """Make an empty database and give its address."""
        name = f"book_{uuid.uuid4().hex}"
        with psycopg.connect(f"{self._where} dbname=postgres", autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name}")
        return f"postgresql://postgres@/{name}{self._query}"

    def cut_all_off(self) -> None:
        """End every connection to a book, as a server does that is stopped."""
        with psycopg.connect(f"{self._where} dbname=postgres", autocommit=True) as connection:
            others = "FROM pg_stat_activity WHERE pid <> pg_backend_pid() AND datname LIKE 'book_%'"
            connection.execute(f"SELECT pg_terminate_backend(pid) {others}")


@contextmanager
def running_server() -> Iterator[PostgresServer]:
    """Make and start a server; stop it and throw it away afterwards."""
    programs = _programs()
    folder = Path(tempfile.mkdtemp(prefix="pg-"))
    data, as_user = folder / "data", _user()
    if as_user:
        shutil.chown(folder, as_user)
    quiet = {"stdout": subprocess.DEVNULL, "cwd": folder, "user": as_user, "check": True}
    # what is lost with a power cut does not matter here: the folder is thrown away
    start = f"-c listen_addresses='' -c unix_socket_directories='{folder}' -c fsync=off"
    try:
        subprocess.run([programs / "initdb", "-D", data, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--no-sync"],
                       **quiet)  # fmt: skip
        subprocess.run([programs / "pg_ctl", "-D", data, "-w", "-l", folder / "log", "-o", start, "start"], **quiet)
        try:
            yield PostgresServer(folder)
        finally:
            subprocess.run([programs / "pg_ctl", "-D", data, "-m", "immediate", "-w", "stop"], **quiet)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _programs() -> Path:
    debian = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    found = shutil.which("initdb") or (debian[-1] if debian else None)
    assert found, INSTALL
    return Path(found).parent


def _user() -> str | None:
    if os.geteuid() != 0:
        return None
    names = {entry.pw_name for entry in pwd.getpwall()}
    return next(name for name in UNPRIVILEGED if name in names)
