"""What can be measured from a file: one file of this folder a sort, each giving its document.

arrived file --recognise--> sort --MEASURES[sort]--> document --bench.write--> evidence in the book
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tapewright.web.measuring import coil, line, tape


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


#: sort of evidence -> what measures it; gives the document
MEASURES: dict[str, Callable[[Any], dict[str, Any]]] = {
    "line": line.measure,
    "tape": tape.measure,
    "coil": coil.measure,
}
#: sort of evidence -> its result in one sentence
SAYS: dict[str, Callable[[Mapping[str, Any]], str]] = {"line": line.says, "tape": tape.says, "coil": coil.says}
#: what is going on, for people
TITLES = {"line": "Reading the line signal", "tape": "Reading the tape", "coil": "Reading the coil's current"}
