"""Pages as PDF: A4 or Letter, PDF/A-2a and PDF/UA-1, page numbers, the same bytes for the same pages.

With a file attached it is PDF/A-3a.
"""

import dataclasses
import json
from collections.abc import Callable, Mapping
from importlib import resources
from types import MappingProxyType
from typing import Any

from tapewright.furniture.pages.blocks import Pages, Verdicts
from tapewright.furniture.pages.html import pages_html
from tapewright.furniture.pages.printable import SHAPES, printable, shape_svg

#: name on the command line -> name in the typesetting library; 210 x 297 mm (ISO 216), 8.5 x 11 inch
PAPERS: dict[str, str] = {"a4": "a4", "letter": "us-letter"}
#: keys whose text is markup of a drawing, not words
_AS_IT_IS = frozenset({"svg"})


def pages_pdf(
    pages: Pages, paper: str = "a4", *, attached: Mapping[str, bytes] = MappingProxyType({}), keyword: str = ""
) -> bytes:
    """Set the pages.

    Args:
        pages: what to set.
        paper: a key of `PAPERS`.
        attached: JSON files to attach, by name: the pages as data.
        keyword: stands among what the file says of itself.
    """
    import typst

    data = {
        "pages": _plain(pages),
        "paper": PAPERS[paper],
        "shapes": {state: shape_svg(state) for state in SHAPES},
        "attached": {name: data.decode() for name, data in attached.items()},
        "keywords": [keyword] if keyword else [],
    }
    template = (resources.files(__package__) / "pages.typ").read_bytes()
    made = typst.compile(
        template, format="pdf", sys_inputs={"data": json.dumps(data, ensure_ascii=False)}, ignore_system_fonts=True,
        timestamp=int(pages.date.timestamp()), pdf_standards=["a-3a" if attached else "a-2a", "ua-1"],
    )  # fmt: skip
    return bytes(made)


def _plain(value: Any, key: str = "") -> Any:
    """Return the pages as JSON values, each block with its kind; every word made printable on the way."""
    if isinstance(value, Verdicts):
        return _plain(value.table())
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        table = {f.name: _plain(getattr(value, f.name), f.name) for f in dataclasses.fields(value)}
        return {"kind": type(value).__name__, **table}
    if isinstance(value, str):
        return value if key in _AS_IT_IS else printable(value)
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value if isinstance(value, bool | int | float) else str(value)


def file_bytes(ending: str, paper: str, document: Callable[[], Mapping[str, Any]], pages: Callable[[], Pages]) -> bytes:
    """Return what goes into a .pdf, .html or .json file; only what is asked for is made.

    Raises:
        KeyError: for another ending.
    """
    makers: dict[str, Callable[[], bytes]] = {
        ".pdf": lambda: pages_pdf(pages(), paper),
        ".html": lambda: pages_html(pages()).encode(),
        ".json": lambda: f"{json.dumps(document(), indent=2, allow_nan=False, ensure_ascii=False)}\n".encode(),
    }
    return makers[ending]()
