"""Begin the record of a machine."""

from collections.abc import Mapping
from typing import Any

from tapewright.app.ports import Book
from tapewright.core.book.bodies import checked
from tapewright.core.book.entry import Entry, NewEntry
from tapewright.errors import InputError


def begin_machine(book: Book, key: str, identity: Mapping[str, Any], *, by: str = "") -> Entry:
    """Write a machine's first identity.

    Args:
        book: where to.
        key: a fresh random key of 32 hex digits.
        identity: fields of kind "identity".
        by: who says so.

    Raises:
        InputError: a field that is not as it should be, or a name taken.
    """
    try:
        body = checked("identity", identity)
    except ValueError as problem:
        raise InputError("identity", expected="fields as `machine log --kinds` tells", found=str(problem)) from problem
    return book.write([NewEntry(key, "identity", body, by)], {})[0]
