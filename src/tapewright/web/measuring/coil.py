"""A recorded current that arrived, as the document tapewright/coil/1."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from tapewright.adapters.reports.coil_json import coil_document
from tapewright.app.read_coil_current import read_coil_current
from tapewright.core.magnet.signature import Loop
from tapewright.web.measuring import said
from tapewright.web.words import doubt, value
from tapewright.wiring import coil_current_reader


def measure(arrived: Any) -> dict[str, Any]:
    """Measure it.

    Raises:
        InputError: when it cannot be read.
    """
    fields = arrived.said
    loop = Loop(
        said.number(fields, "supply", 0.1, 1000), said.number(fields, "shunt", 1e-3, 1e5),
        said.number(fields, "series_ohm", 0, 1e6) or 0.0,
    )  # fmt: skip
    reader = coil_current_reader(fields.get("channel") or None, said.number(fields, "rate", 1e-3, 1e12))
    reading = read_coil_current(arrived.path, reader, loop, said.number(fields, "scale", 1e-9, 1e9) or 1.0)
    return coil_document(replace(reading, path=Path(arrived.name)), None, None)


def says(document: Mapping[str, Any]) -> str:
    """Say the result in one sentence."""
    moved, landing = document["moved"], document["landing_ms"]
    words = {True: "the armature moved", False: "the armature did not move", None: "whether it moved is not shown"}
    return words[moved] + (f", landing after {value(landing)}, ± {doubt(landing)}" if landing else "")
