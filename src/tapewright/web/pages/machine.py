"""One machine: where it stands, and what to do next."""

from typing import Any

from tapewright.web.machines import heading
from tapewright.web.page import Asking, Page


def answer(asking: Asking) -> dict[str, Any]:
    """Give where the machine stands."""
    book = asking.bench.book
    machine = book.machine(asking.where["machine"])
    timeline = [
        {"key": line.key, "at": line.at.isoformat(), "kind": line.kind, "sort": line.sort, "by": line.by,
         "says": line.says}
        for line in book.timeline(machine.key, limit=50)
    ]  # fmt: skip
    return {"machine": heading(machine), "timeline": timeline}


PAGE = Page("machine", "/machines/{machine}", answer, "Where one machine stands and what to do next.", menu="Machine")
