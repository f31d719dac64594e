"""Every link between pages leads somewhere."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", ROOT / "CONTRIBUTING.md", *sorted((ROOT / "docs").rglob("*.md"))]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_links_lead_somewhere(page):
    for target in re.findall(r"\]\(([^)#\s]+)", page.read_text(encoding="utf-8")):
        assert target.startswith("http") or (page.parent / target).exists(), f"{page.name}: {target}"


def test_every_page_is_in_the_index():
    index = (ROOT / "docs" / "README.md").read_text(encoding="utf-8")
    for folder in ("tutorials", "how-to", "explanations"):
        for page in (ROOT / "docs" / folder).glob("*.md"):
            assert f"{folder}/{page.name}" in index, page.name
