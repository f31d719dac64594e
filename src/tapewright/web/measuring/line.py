"""A capture that arrived, as the document tapewright/line/1."""

from collections.abc import Mapping
from typing import Any

from tapewright.adapters.reports.line_json import line_document
from tapewright.app.read_line import HowToRead, read_line
from tapewright.core.line.line_result import LineSettings
from tapewright.core.measurement.reading import COVERAGE_FACTOR
from tapewright.web.measuring import said
from tapewright.web.words import doubt, value
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


def says(document: Mapping[str, Any]) -> str:
    """Say the result in one sentence: the contact that is late, or that none is shown to be."""
    speed, worst = document["speed"]["baud"], worst_contact(document)
    at = f"{value(speed)}, " if speed else "speed not proven, "
    if worst is None:
        return f"{at}{len(document['codes'])} characters; no contact is shown to be off"
    return f"{at}{len(document['codes'])} characters; {worst}"


def worst_contact(document: Mapping[str, Any]) -> str | None:
    """Name the contact that is farthest off beyond its doubt, with what it does; None when none is."""
    found = []
    for contact in document["contacts"]:
        for side in ("closing", "opening"):
            late = contact.get(f"{side}_late_ms")
            if late and late["u"] is not None and abs(late["value"]) > 2 * COVERAGE_FACTOR * late["u"]:
                found.append((abs(late["value"]), contact["contact"], side, late))
    if not found:
        return None
    _, name, side, late = max(found, key=lambda each: each[0])
    way = "late" if late["value"] > 0 else "early"
    size = late | {"value": abs(late["value"])}
    does = "closes" if side == "closing" else "opens"
    return f"{called(name)} {does} {value(size)} {way}, ± {doubt(size)}"


def called(contact: str) -> str:
    """Say "contact 3", "the stop contact"."""
    return f"contact {contact}" if contact.isdecimal() else f"the {contact} contact"
