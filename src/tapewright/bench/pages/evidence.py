"""One piece of evidence as it stands in the book; a document without a page of its own as figures and one table."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from tapewright.bench.from_book import heading
from tapewright.bench.page import Asking, Page
from tapewright.book.in_words import verdicts_of

Document = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Table:
    """Where the steps of a document stand, and which of their fields are shown: (field, heading, in words)."""

    at: str
    title: str
    columns: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Told:
    """What is shown of one format.

    Attributes:
        title: heading of the page.
        figures: (field, what it is).
        table: its steps; None when there are none.
    """

    title: str
    figures: tuple[tuple[str, str], ...] = ()
    table: Table | None = field(default=None)


TOLD: dict[str, Told] = {
    "tapewright/margin/1": Told(
        "The receiver's range",
        (
            ("margin_percent", "Margin"),
            ("orientation_low", "Reads right from"),
            ("orientation_high", "Up to"),
            ("best_setting", "Set it to"),
        ),
        Table("questions", "Each question", (("n", "Question"), ("at", "Set to"), ("answer", "Printed"))),
    ),
    "tapewright/speed/1": Told(
        "The speed, by several ways",
        (("baud", "Speed"), ("unit_ms", "Unit"), ("error_percent", "Fast by")),
        Table("ways", "Each way", (("way", "Way"), ("error_percent", "Fast by"), ("saw", "Seen"), ("mind", "Mind"))),
    ),
    "tapewright/supply/1": Told(
        "Brought to speed by its supply",
        (),
        Table("steps", "Each voltage", (("volts", "Volts"), ("error_percent", "Fast by"))),
    ),
    "tapewright/sent/1": Told("A signal that was sent", (("jitter_ms", "Jitter of the changes"),)),
    "tapewright/train/1": Told(
        "The drive train",
        (("error_percent", "Fast by"),),
        Table("stages", "Wheels", (("driver", "Driver"), ("driven", "Driven"))),
    ),
    "tapewright/pinion/1": Told(
        "Another pinion",
        (),
        Table(
            "pairs",
            "Pairs that come near",
            (("pinion", "Pinion"), ("gear", "Gear"), ("residual_percent", "Fast by, %"), ("way", "How")),
        ),
    ),
    "tapewright/makeshift/1": Told(
        "A makeshift drive", (("swing_percent", "Speed swings by"), ("displaced_percent", "Displaces an instant by"))
    ),
}


def told_of(document: Document) -> dict[str, object] | None:
    """Return title, figures and table of a document; None for a format that is shown as it stands."""
    told = TOLD.get(str(document.get("format")))
    if told is None:
        return None
    figures = [{"what": what, "figure": document[key]} for key, what in told.figures if _measured(document.get(key))]
    return {"title": told.title, "figures": figures, "table": _table(document, told.table)}


def _table(document: Document, table: Table | None) -> dict[str, object] | None:
    rows = document.get(table.at) if table is not None else None
    if table is None or not isinstance(rows, Sequence) or not rows or not all(isinstance(r, Mapping) for r in rows):
        return None
    return {
        "title": table.title,
        "heads": [head for _, head in table.columns],
        "rows": [[_cell(row.get(key)) for key, _ in table.columns] for row in rows],
    }


def _cell(value: Any) -> dict[str, object]:
    """Return a cell: a figure with its doubt, or words."""
    if _measured(value):
        return {"figure": value, "words": ""}
    words = f"{value:.6g}" if isinstance(value, float) else "" if value is None else str(value)
    return {"figure": None, "words": words}


def _measured(value: Any) -> bool:
    return isinstance(value, Mapping) and isinstance(value.get("value"), int | float) and "unit" in value


def answer(asking: Asking) -> dict[str, object]:
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
        "entry": {
            "key": entry.key,
            "at": entry.at.isoformat(),
            "by": entry.new.by,
            "kind": entry.new.kind,
            "files": list(entry.new.files),
            "program": entry.program,
            "body": dict(entry.new.body),
        },
    }


PAGE = Page("evidence", "/machines/{machine}/evidence/{entry}", answer, "One piece of evidence as the book has it.")
