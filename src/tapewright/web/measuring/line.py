"""A capture that arrived, as the document tapewright/line/1."""

from typing import Any

from tapewright.adapters.reports.line_json import line_document
from tapewright.app.read_line import HowToRead, read_line
from tapewright.core.line.line_result import LineSettings
from tapewright.web.measuring import said
from tapewright.wiring import capture_files


def measure(arrived: Any) -> dict[str, Any]:
    """Measure it.

    Raises:
        InputError: when it cannot be read.
    """
    fields = arrived.said
    letters = said.alphabet(fields)
    settings = LineSettings(
        alphabet=letters, nominal_baud=said.nominal_baud(fields), expect=said.expected(fields, letters)
    )
    how = HowToRead(fields.get("channel") or None, said.number(fields, "rate", 1e-3, 1e12))
    report = read_line(
        arrived.path, how, settings, files=capture_files(), progress=arrived.progress, fingerprint=False
    )
    document = line_document(report)
    document["source"] |= {"file": arrived.name, "sha256": arrived.sha256}
    return document
