"""A bundle that is whole, its members, and a book that must never change."""

import io
from contextlib import closing

import pytest

from fakes.bundles import book_with_two_machines, exported, members_of
from tapewright.book.entry import NewEntry
from tapewright.book.store.open import open_book


@pytest.fixture(scope="module")
def good(tmp_path_factory):
    """The bytes of a bundle that is whole."""
    folder = tmp_path_factory.mktemp("good")
    with closing(book_with_two_machines(folder / "a.book")) as book:
        exported(book, folder / "all.zip")
    return (folder / "all.zip").read_bytes()


@pytest.fixture(scope="module")
def members(good):
    return members_of(io.BytesIO(good))


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """A book with one line, which must never change."""
    with closing(open_book(str(tmp_path_factory.mktemp("book") / "b.book"))) as opened:
        opened.write([NewEntry("c" * 32, "identity", {"name": "Gannet"})], {})
        yield opened
