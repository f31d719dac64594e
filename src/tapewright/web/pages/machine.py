"""One machine: where it stands, and what to do next."""

from typing import Any

from tapewright.web.machines import heading
from tapewright.web.page import Asking, Page


def answer(asking: Asking) -> dict[str, Any]:
    """Give where the machine stands."""
    book = asking.bench.book
    machine = book.machine(asking.where["machine"])
    lines = book.entries(machine.key, limit=50)
    timeline = [
        {"key": e.key, "at": e.at.isoformat(), "kind": e.new.kind, "sort": e.new.body.get("sort"), "by": e.new.by}
        for e in lines
    ]
    return {"machine": heading(machine), "timeline": timeline}


PAGE = Page("machine", "/machines/{machine}", answer, "Where one machine stands and what to do next.", menu="Machine")
