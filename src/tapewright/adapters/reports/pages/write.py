"""Pages to a file of the kind its name says, whole or not at all."""

import json
import os
import secrets
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from tapewright.adapters.reports.pages.blocks import Pages
from tapewright.adapters.reports.pages.html import pages_html
from tapewright.adapters.reports.pages.pdf import pages_pdf


def file_bytes(
    ending: str, paper: str, document: Callable[[], Mapping[str, Any]], pages: Callable[[], Pages]
) -> bytes:
    """Give what goes into a .pdf, .html or .json file; only what is asked for is made.

    Raises:
        KeyError: for another ending.
    """
    makers: dict[str, Callable[[], bytes]] = {
        ".pdf": lambda: pages_pdf(pages(), paper),
        ".html": lambda: pages_html(pages()).encode(),
        ".json": lambda: f"{json.dumps(document(), indent=2, allow_nan=False, ensure_ascii=False)}\n".encode(),
    }
    return makers[ending]()


def write_whole(path: Path, content: bytes) -> None:
    """Write beside the file first, then put it in its place in one step."""
    beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        beside.write_bytes(content)
        os.replace(beside, path)
    finally:
        beside.unlink(missing_ok=True)
