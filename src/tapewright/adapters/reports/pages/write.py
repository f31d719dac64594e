"""Pages as the file its name says."""

import json
from collections.abc import Callable, Mapping
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
