"""What can be measured from a file: one file of this folder a sort, each giving its document.

    arrived file --recognise--> sort --measure--> document --record--> evidence in the book

A module of this folder is loaded when its sort is first measured: the first page need not wait for any of them.
"""

import importlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any


@dataclass(frozen=True, slots=True)
class Arrived:
    """A file that was uploaded and what was said with it.

    Attributes:
        path: where it stands until it is in the book.
        name: what it was called.
        sha256: fingerprint of its bytes.
        said: fields sent with it, for example {"expect": "RYRY"}; what the machine's identity says stands below them.
        progress: takes the fraction done.
    """

    path: Path
    name: str
    sha256: str
    said: Mapping[str, str]
    progress: Callable[[float], None]


#: sort of evidence, which is also the module of this folder -> what is going on, for people
SORTS = {"line": "Reading the line signal", "tape": "Reading the tape", "coil": "Reading the coil's current"}


def measure(sort: str, arrived: Arrived) -> dict[str, Any]:
    """Give the document.

    Raises:
        InputError: when the file cannot be read.
    """
    document: dict[str, Any] = _module(sort).measure(arrived)
    return document


def says(sort: str, document: Mapping[str, Any]) -> str:
    """Say a result in one sentence."""
    return str(_module(sort).says(document))


def _module(sort: str) -> ModuleType:
    return importlib.import_module(f"{__name__}.{sort}")
