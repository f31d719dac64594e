"""The page of the bench's pages is what the registry and the schemas say."""

import runpy
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_page_is_current():
    script = runpy.run_path(str(ROOT / "scripts" / "generate_bench_pages.py"))
    written = (ROOT / "docs" / "reference" / "bench-pages.md").read_text(encoding="utf-8")
    assert written == script["page"](), "run: python scripts/generate_bench_pages.py"
