"""A picture that arrived, as the document tapewright/tape/1."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from tapewright.adapters.pictures.decode import read_picture
from tapewright.adapters.reports.tape_json import tape_document
from tapewright.app.read_tape import read_tape_picture
from tapewright.core.tape.read import TapeOptions
from tapewright.web.measuring import said


def measure(arrived: Any) -> dict[str, Any]:
    """Measure it.

    Raises:
        InputError: when there is no tape in it that can be read.
    """
    letters = said.alphabet(arrived.said)
    picture = replace(read_picture(arrived.path), file=arrived.name)
    arrived.progress(0.4)
    options = TapeOptions(
        alphabet=letters, dpi=said.number(arrived.said, "dpi", 50, 5000), expected=said.expected(arrived.said, letters)
    )
    return tape_document(read_tape_picture(picture, options))


def says(document: Mapping[str, Any]) -> str:
    """Say the result in one sentence."""
    strips = document["strips"]
    rows, partial = sum(len(s["codes"]) for s in strips), sum(t["partial"] for s in strips for t in s["tracks"])
    outside = [v["check"] for v in document["verdicts"] if v["state"] == "outside"]
    found = f"; outside: {', '.join(outside)}" if outside else ""
    return f"{rows} rows, {partial} partial holes{found}"
