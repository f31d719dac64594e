"""The page of the book's lines is what the tables say."""

import runpy
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_page_is_current():
    script = runpy.run_path(str(ROOT / "scripts" / "generate_book_kinds.py"))
    written = (ROOT / "docs" / "reference" / "book.md").read_text(encoding="utf-8")
    assert written == script["page"](), "run: python scripts/generate_book_kinds.py"
