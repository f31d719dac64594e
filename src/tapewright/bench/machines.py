"""What pages ask of the book about one machine."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from tapewright.book.entry import MachineOnShelf

if TYPE_CHECKING:
    from tapewright.book.ports import Book


def heading(machine: MachineOnShelf) -> dict[str, Any]:
    """Return what the frame of every page of a machine needs: the document's "machine"."""
    return {"key": machine.key, "name": machine.name, "model": machine.model}


def identity(book: "Book", machine: str) -> Mapping[str, Any]:
    """Return the newest identity of a machine."""
    newest = book.entries(machine, kinds=("identity",), limit=1)
    return newest[0].new.body if newest else {}
