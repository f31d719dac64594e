"""Write docs/reference/bench-pages.md from the pages and the schemas of their twins; `--check` only compares."""

import sys
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "src"))

from tapewright.bench.openapi import schemas
from tapewright.bench.page import Page
from tapewright.bench.page_routes import TWIN, twin_path
from tapewright.bench.pages import PAGES

PAGE = ROOT / "docs" / "reference" / "bench-pages.md"
HEAD = """# Pages of the bench, and their twins

Made by `python scripts/generate_bench_pages.py` from the registry of pages and the schemas in
`src/tapewright/bench/twins/`; do not edit.

Every page has a JSON twin at the same path with `.json`: the very document that the page is drawn from. The bench gives
all of this as an OpenAPI document, with JSON Schemas, at `/openapi.json`. A key with a question mark may be missing.

To read, call from the machine that the bench runs on. To write, bring the cookie of a page you have read and, in the
header `x-bench-key`, the key that stands in it; then post the fields of the form to the path below with `.json`. The
answer is `{"written": [fingerprints], "see": path, "says": sentence}`; a refusal is `{"says": reason}`.
"""
#: keys of keys that the table goes down to
DEPTH = 2


def page() -> str:
    """Return the page."""
    known = schemas(PAGES)
    parts = [HEAD]
    for each in PAGES:
        parts.append("\n".join([*_head(each), "| key | holds | |", "|---|---|---|",
                                *_rows(known[f"{each.name}-page"]), ""]))  # fmt: skip
    shared = {name: schema for name, schema in known.items() if not name.endswith("-page")}
    parts.append("## What several twins hold\n")
    for name, schema in shared.items():
        parts.append("\n".join([f"### {name}", "", schema["description"], "", "| key | holds | |", "|---|---|---|",
                                *_rows(schema), ""]))  # fmt: skip
    return "\n".join(parts)


def _head(each: Page) -> list[str]:
    where = f"`{each.path}`, twin `{twin_path(each.path)}`"
    paths = [f"`{each.path.rstrip('/')}/{action}{TWIN}`" for action in each.actions]
    writes = f"; writes: {', '.join(paths)}" if paths else ""
    return [f"## {each.name}", "", each.says, "", f"{where}{writes}", ""]


def _rows(schema: Mapping[str, Any], before: str = "", depth: int = 1) -> Iterator[str]:
    must = schema.get("required", ())
    for key, said in schema.get("properties", {}).items():
        name = f"{before}{key}{'' if key in must else '?'}"
        yield f"| `{name}` | {_holds(said)} | {said.get('description', '')} |"
        inside = said.get("items", said)
        if depth < DEPTH and "$ref" not in inside:
            yield from _rows(inside, f"{name}[]." if "items" in said else f"{name}.", depth + 1)


def _holds(said: Mapping[str, Any]) -> str:
    """Say in a few words what a value is."""
    for way in ("oneOf", "allOf"):
        if way in said:
            return " or ".join(_holds(each) for each in said[way])
    if "$ref" in said:
        name = said["$ref"].rsplit("/", 1)[1]
        return f"[{name}](#{name})"
    if "const" in said:
        return f"`{said['const']}`"
    if "enum" in said:
        return ", ".join(map(str, said["enum"]))
    kinds = said["type"] if isinstance(said["type"], list) else [said["type"]]
    if "array" in kinds and "items" in said:
        return " or ".join("list of " + _holds(said["items"]) if kind == "array" else kind for kind in kinds)
    return " or ".join("list" if kind == "array" else kind for kind in kinds)


if __name__ == "__main__":
    if "--check" in sys.argv:
        sys.exit(PAGE.read_text(encoding="utf-8") != page())
    PAGE.write_text(page(), encoding="utf-8")
    print(f"wrote {PAGE.name}")
