"""The shelf: the machines of the book and where each stands; a new machine is put on it here."""

import secrets
from typing import Any

from tapewright.core.book.entry import NewEntry
from tapewright.errors import InputError
from tapewright.web.page import Asking, Done, Page, Said

#: what a machine is to the advisor -> words
KINDS = {
    "keyboard-punch": "keyboard and tape punch", "page-printer": "page printer", "tape-reader": "tape reader",
    "whole": "all of these on one line",
}  # fmt: skip
LONGEST_NAME = 80


def answer(asking: Asking) -> dict[str, Any]:
    """Give the machines, by name."""
    machines = [
        {"key": m.key, "name": m.name, "model": m.model, "entries": m.entries, "last_at": m.last_at.isoformat()}
        for m in asking.bench.book.machines()
    ]
    return {"machines": machines, "kinds": KINDS}


def add(said: Said) -> Done:
    """Put a new machine on the shelf.

    Raises:
        InputError: without a name, or with a name that is taken.
    """
    name = " ".join(said.fields.get("name", "").split())
    kind = said.fields.get("kind", "whole")
    if not 0 < len(name) <= LONGEST_NAME or kind not in KINDS:
        raise InputError("the new machine", place="its name", expected=f"a name of up to {LONGEST_NAME} letters",
                         found=repr(name[:LONGEST_NAME]), do="Give it the name people call it by.")  # fmt: skip
    rest = {field: said.fields.get(field, "").strip() for field in ("model", "serial", "nominal")}
    body = {"name": name, "kind": kind, **rest}
    key = secrets.token_hex(16)
    written = said.asking.bench.book.write([NewEntry(key, "identity", body)], {})
    return Done(f"/machines/{key}", tuple(e.key for e in written), f"{name} is on the shelf.")


PAGE = Page("shelf", "/", answer, "The machines of the book and where each stands.", menu="Shelf", of="bench",
            actions={"machines": add})  # fmt: skip
