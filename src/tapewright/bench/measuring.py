"""What can be measured from a file that arrived, and what of the form goes to it as settings.

    arrived file --recognise--> sort --measure--> document --keep--> evidence in the book, with the file and the steps

The measuring is that of the command line, so that the book can do it again. A module is loaded when its sort is
first measured: the first page need not wait for any of them.
"""

import importlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tapewright.bench import said

Settings = dict[str, object]


@dataclass(frozen=True, slots=True)
class Sort:
    """One sort of evidence that is measured from a file.

    Attributes:
        title: what is going on, for people.
        command: the command that measures the same.
        role: what the file is to it.
        module: where it is measured.
        settings: makes its settings of the fields of the form.
    """

    title: str
    command: str
    role: str
    module: str
    settings: Callable[[Mapping[str, str]], Settings]


def line_settings(fields: Mapping[str, str]) -> Settings:
    """Return the settings of `line read`."""
    baud = said.nominal_baud(fields)
    return _given(
        alphabet=said.alphabet_name(fields),
        nominal=None if baud is None else repr(baud),
        expect=said.sent(fields),
        channel=fields.get("channel") or None,
        rate=said.number(fields, "rate", 1e-3, 1e12),
        idle=said.idle(fields),
        threshold=said.threshold(fields),
        clock_ppm=said.number(fields, "clock_ppm", 0, 1e5),
    )


def tape_settings(fields: Mapping[str, str]) -> Settings:
    """Return the settings of `tape read`."""
    dpi = said.number(fields, "dpi", 50, 5000)
    return _given(alphabet=said.alphabet_name(fields), dpi=dpi, expect=said.sent(fields))


def coil_settings(fields: Mapping[str, str]) -> Settings:
    """Return the settings of `drive read`."""
    return _given(
        supply=said.number(fields, "supply", 0.1, 1000),
        shunt=said.number(fields, "shunt", 1e-3, 1e5),
        series_ohm=said.number(fields, "series_ohm", 0, 1e6),
        scale=said.number(fields, "scale", 1e-9, 1e9),
        channel=fields.get("channel") or None,
        rate=said.number(fields, "rate", 1e-3, 1e12),
    )


def _given(**settings: Any) -> Settings:
    return {name: value for name, value in settings.items() if value is not None}


SORTS: dict[str, Sort] = {
    "line": Sort("Reading the line signal", "line read", "capture", "tapewright.line.from_settings", line_settings),
    "tape": Sort("Reading the tape", "tape read", "picture", "tapewright.tape.from_settings", tape_settings),
    "coil": Sort("Reading the coil's current", "drive read", "current", "tapewright.coil.from_settings", coil_settings),
}


def measure(sort: Sort, path: Path, settings: Settings, progress: Callable[[float], None]) -> dict[str, Any]:
    """Return the result document of a file.

    Raises:
        InputError: when it cannot be read.
    """
    module = importlib.import_module(sort.module)
    # only the line takes long enough to tell how far it is; its fingerprint is known already
    more = {"progress": progress, "fingerprint": False} if sort.role == "capture" else {}
    document: dict[str, Any] = module.document(module.measure({sort.role: path}, settings, **more))
    return document
