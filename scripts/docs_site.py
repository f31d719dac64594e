"""What the documentation's site adds to its pages; mkdocs calls the `on_` functions (see mkdocs.yml).

The pages stay as they are read in the repository. Here
* docs/README.md, the index, becomes the navigation: its headings are the tabs, its table rows the groups;
* the folders of decisions and of schemas get a page that lists them;
* a caution becomes a box that cannot be overlooked.
"""

import json
import re
from pathlib import Path
from typing import Any

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files
from mkdocs.structure.pages import Page

DOCS = Path(__file__).resolve().parents[1] / "docs"
LINK = re.compile(r"\[([^\]]+)\]\(([^)#\s]+)[^)]*\)")
CAUTION = re.compile(r"^(?:> )?\*\*(Caution|Before you [^*]+)\.\*\* (.*(?:\n(?:> ?)?\S.*)*)", re.MULTILINE)
#: pages that list a folder: page -> (folder, title, what stands first)
LISTS = {
    "decisions/README.md": ("decisions/*.md", "Decisions", "Choices that somebody could have made otherwise, and why."),
    "reference/schemas/README.md": (
        "reference/schemas/*.json",
        "JSON Schemas",
        "What `--json` writes, document by document, as JSON Schema (draft 2020-12).",
    ),
}


def on_config(config: MkDocsConfig) -> MkDocsConfig:
    """Make the navigation from the index."""
    config.nav = navigation((DOCS / "README.md").read_text(encoding="utf-8"))
    return config


def navigation(index: str) -> list[Any]:
    """Return the tabs of the site: the index itself, then a tab for each of its headings."""
    tabs: list[Any] = [{"Start": "README.md"}]
    for section in re.split(r"^## ", index, flags=re.MULTILINE)[1:]:
        title, _, body = section.partition("\n")
        pages: list[Any] = []
        for line in body.splitlines():
            found = [page(target) for _, target in LINK.findall(line)]
            job = re.match(r"\| ([^|]+?) \|", line)
            pages += [{job[1][0].upper() + job[1][1:]: found}] if job and found else found
        tabs.append({title: pages})
    return tabs


def page(target: str) -> str:
    """Return the page that a link of the index leads to; a folder has a page that lists it."""
    return f"{target}README.md" if target.endswith("/") else target


def on_files(files: Files, config: MkDocsConfig) -> Files:
    """Add the pages that list a folder."""
    for name, (pattern, title, head) in LISTS.items():
        found = sorted(file for file in DOCS.glob(pattern) if file.name != "README.md")
        lines = "\n".join(f"- [{_title(file)}]({file.name})" for file in found)
        files.append(File.generated(config, name, content=f"# {title}\n\n{head}\n\n{lines}\n"))
    return files


def _title(file: Path) -> str:
    text = file.read_text(encoding="utf-8")
    if file.suffix == ".json":
        return str(json.loads(text).get("title", file.stem))
    return f"{int(file.name[:4])}. {text.splitlines()[0].lstrip('# ')}" if file.name[:4].isdigit() else file.stem


def on_page_markdown(markdown: str, page: Page, config: MkDocsConfig, files: Files) -> str:
    """Turn links to folders to their lists, and cautions to boxes."""
    markdown = re.sub(r"\]\(([^):]+/)\)", r"](\1README.md)", markdown)
    return CAUTION.sub(_box, markdown)


def _box(caution: re.Match[str]) -> str:
    lines = [re.sub(r"^> ?", "", line) for line in caution[2].splitlines()]
    return "\n    ".join([f'!!! danger "{caution[1]}"\n', *lines])
