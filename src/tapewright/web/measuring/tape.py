"""A picture that arrived, as the document tapewright/tape/1."""

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
