"""One piece of evidence as it stands in the book."""

from typing import Any

from tapewright.web.machines import heading
from tapewright.web.page import Asking, Page


def answer(asking: Asking) -> dict[str, Any]:
    """Give the evidence with what it rests on."""
    book = asking.bench.book
    machine = book.machine(asking.where["machine"])
    entry = book.entry(asking.where["entry"])
    return {
        "machine": heading(machine),
        "entry": {"key": entry.key, "at": entry.at.isoformat(), "by": entry.new.by, "kind": entry.new.kind,
                  "files": list(entry.new.files), "program": entry.program, "body": dict(entry.new.body)},
    }  # fmt: skip


PAGE = Page("evidence", "/machines/{machine}/evidence/{entry}", answer, "One piece of evidence as the book has it.")
