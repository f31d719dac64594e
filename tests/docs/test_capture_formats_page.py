"""The page of capture formats is what the registry says."""

import runpy
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_page_is_current():
    script = runpy.run_path(str(ROOT / "scripts" / "generate_capture_formats.py"))
    written = (ROOT / "docs" / "reference" / "capture-files.md").read_text(encoding="utf-8")
    assert written == script["page"](), "run: python scripts/generate_capture_formats.py"
