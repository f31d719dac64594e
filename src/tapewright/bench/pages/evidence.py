"""One piece of evidence as it stands in the book."""

from collections.abc import Mapping
from typing import Any

from tapewright.bench.bench_results import told_of
from tapewright.bench.machines import heading
from tapewright.bench.page import Asking, Page
from tapewright.book.in_words import verdicts_of


def answer(asking: Asking) -> dict[str, Any]:
    """Return the evidence with what it rests on."""
    book = asking.bench.book
    machine = book.machine(asking.where["machine"])
    entry = book.entry(asking.where["entry"])
    body = entry.new.body
    result = body.get("result")
    document: Mapping[str, Any] = result if isinstance(result, Mapping) else {}
    return {
        "machine": heading(machine),
        "says": str(body.get("says", "")),
        "told": told_of(document),
        "verdicts": list(verdicts_of(document)) if told_of(document) else [],
        "cautions": [str(said) for said in document.get("cautions", ())] if told_of(document) else [],
        "entry": {"key": entry.key, "at": entry.at.isoformat(), "by": entry.new.by, "kind": entry.new.kind,
                  "files": list(entry.new.files), "program": entry.program, "body": dict(entry.new.body)},
    }  # fmt: skip


PAGE = Page("evidence", "/machines/{machine}/evidence/{entry}", answer, "One piece of evidence as the book has it.")
