"""Pages as PDF: A4 or Letter, PDF/A-2a and PDF/UA-1, page numbers, the same bytes for the same pages."""

import dataclasses
import json
from importlib import resources
from typing import Any

from tapewright.adapters.reports.pages.blocks import Pages
from tapewright.adapters.reports.pages.printable import printable
from tapewright.adapters.reports.pages.state_shapes import SHAPES, shape_svg

#: name on the command line -> name in the typesetting library; 210 x 297 mm (ISO 216), 8.5 x 11 inch
PAPERS: dict[str, str] = {"a4": "a4", "letter": "us-letter"}
#: keys whose text is markup of a drawing, not words
_AS_IT_IS = frozenset({"svg"})


def pages_pdf(pages: Pages, paper: str = "a4") -> bytes:
    """Set the pages.

    Args:
        pages: what to set.
        paper: a key of `PAPERS`.
    """
    import typst

    data = {"pages": _plain(pages), "paper": PAPERS[paper], "shapes": {state: shape_svg(state) for state in SHAPES}}
    template = (resources.files(__package__) / "pages.typ").read_bytes()
    made = typst.compile(
        template, format="pdf", sys_inputs={"data": json.dumps(data, ensure_ascii=False)}, ignore_system_fonts=True,
        timestamp=int(pages.date.timestamp()), pdf_standards=["a-2a", "ua-1"],
    )  # fmt: skip
    return bytes(made)


def _plain(value: Any, key: str = "") -> Any:
    """Give the pages as JSON values, each block with its kind; every word made printable on the way."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        table = {f.name: _plain(getattr(value, f.name), f.name) for f in dataclasses.fields(value)}
        return {"kind": type(value).__name__, **table}
    if isinstance(value, str):
        return value if key in _AS_IT_IS else printable(value)
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value if isinstance(value, bool | int | float) else str(value)
