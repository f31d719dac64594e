"""Write docs/reference/book.md from the tables that check the lines of the book; `--check` only compares."""

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "src"))

from tapewright.book.bodies import FIELDS, Field
from tapewright.book.kinds import KINDS, SORTS
from tapewright.book.reports import holds
from tapewright.furniture.phases import PHASES

PAGE = ROOT / "docs" / "reference" / "book.md"
HEAD = """# What the book holds

Made by `python scripts/generate_book_kinds.py` from the tables in `book/`; do not edit.

Everything in the book is a line of one of these kinds, written with `tapewright machine log NAME KIND FIELD=VALUE ...`
or kept by a measuring command with `--machine NAME`. Around the fields each line carries: who says so, when (UTC), the
program's version, the fingerprints of the raw files and of the lines it rests on, the line of the same kind that it
withdraws with the reason, and its place in the chain of the bench that signed it. Its key is the SHA-256 fingerprint of
all that, as canonical JSON: keys sorted, no blanks, UTF-8, time to the microsecond. As a document:
[entry.json](schemas/entry.json).

A field with a star must be there.
"""


def row(field: Field) -> str:
    """Return the row of one field."""
    return f"| {field.name}{' *' if field.must else ''} | {field.says} | {holds(field).replace('|', 'or')} |"


def page() -> str:
    """Return the page."""
    parts = [HEAD]
    for kind, says in KINDS.items():
        rows = [row(field) for field in FIELDS[kind]]
        parts.append("\n".join([f"## {kind}", f"{says[0].upper()}{says[1:]}.", "", "| field | what it says | holds |",
                                "|---|---|---|", *rows, ""]))  # fmt: skip
    sorts = [f"| {sort} | `{document}` |" for sort, document in SORTS.items()]
    parts.append("\n".join(["## Sorts of evidence", f"Phases: {', '.join(PHASES)}.", "", "| sort | result document |",
                            "|---|---|", *sorts, ""]))  # fmt: skip
    return "\n".join(parts)


if __name__ == "__main__":
    if "--check" in sys.argv:
        sys.exit(PAGE.read_text(encoding="utf-8") != page())
    PAGE.write_text(page(), encoding="utf-8")
    print(f"wrote {PAGE.name}")
