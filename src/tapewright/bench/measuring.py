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

Settings = dict[str, object]
#: field of the form: limits of one's own, as TOML; they are kept beside the evidence
LIMITS = "limits"


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
    """Return the settings of `line read`, from the record that its command has them from."""
    from tapewright.furniture.settings import from_form, to_steps
    from tapewright.line.settings import ReadSettings

    return to_steps(from_form(ReadSettings, fields))


def tape_settings(fields: Mapping[str, str]) -> Settings:
    """Return the settings of `tape read`."""
    from tapewright.furniture.settings import from_form, to_steps
    from tapewright.tape.settings import TapeSettings

    return to_steps(from_form(TapeSettings, fields))


def coil_settings(fields: Mapping[str, str]) -> Settings:
    """Return the settings of `drive read`, from the record that its command has them from."""
    from tapewright.coil.settings import CurrentSettings
    from tapewright.furniture.settings import from_form, to_steps

    return to_steps(from_form(CurrentSettings, fields))


def _given(**settings: Any) -> Settings:
    return {name: value for name, value in settings.items() if value is not None}


SORTS: dict[str, Sort] = {
    "line": Sort("Reading the line signal", "line read", "capture", "tapewright.line.from_settings", line_settings),
    "tape": Sort("Reading the tape", "tape read", "picture", "tapewright.tape.read", tape_settings),
    "coil": Sort("Reading the coil's current", "drive read", "current", "tapewright.coil.from_settings", coil_settings),
}


def measure(
    sort: Sort, path: Path, settings: Settings, progress: Callable[[float], None], limits: Path | None = None
) -> dict[str, Any]:
    """Return the result document of a file.

    Args:
        sort: of evidence.
        path: the file.
        settings: how it is read.
        progress: takes the fraction done.
        limits: a file of one's own limits; None for those that come with the program.

    Raises:
        InputError: when it cannot be read.
    """
    module = importlib.import_module(sort.module)
    # only the line takes long enough to tell how far it is; its fingerprint is known already
    more = {"progress": progress, "fingerprint": False} if sort.role == "capture" else {}
    files = {sort.role: path} if limits is None else {sort.role: path, LIMITS: limits}
    document: dict[str, Any] = module.document(module.measure(files, settings, **more))
    return document
