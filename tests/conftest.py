"""What all tests share."""

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

# The build may run beside other work: an example that is slow today says nothing about the program. In the build
# the examples are the same every time, so that a change is judged by itself; at a desk they are new ones each time.
settings.register_profile("no clock", deadline=None, derandomize="CI" in os.environ)
settings.load_profile("no clock")


# The benches of the tests have a key of their own, made anew for each run: none of the user's is touched.
os.environ.setdefault("TAPEWRIGHT_KEYS", tempfile.mkdtemp(prefix="tapewright-keys-"))


@pytest.fixture(scope="session")
def postgres() -> Iterator[Any]:
    """A PostgreSQL server of our own; fails, never skips, where none is installed."""
    from fakes.postgres_server import running_server

    with running_server() as server:
        yield server


@pytest.fixture(params=["sqlite", "postgresql"])
def where(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A place for a book, once in a file and once on a server."""
    if request.param == "sqlite":
        return str(tmp_path / "workshop.book")
    server = request.getfixturevalue("postgres")
    return str(server.new_database())
