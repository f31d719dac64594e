"""Line and tape documents as the figures of the proof: facts in words, and the numbers of its plots."""

from collections.abc import Mapping
from typing import Any

from tapewright.proof.document import ContactFigures, LineFigures, TapeFigures, TapeRow, Track
from tapewright.proof.lines import Evidence
from tapewright.proof.phases import Chosen
from tapewright.proof.plain import count, each, mapping, mappings, number, reading, spoken, truth, words

#: (part, key, word) of a line document, in the order of the page
LINE_FACTS: tuple[tuple[str, str, str], ...] = (
    ("speed", "baud", "speed"),
    ("speed", "unit_ms", "unit"),
    ("speed", "error_percent", "off nominal"),
    ("speed", "stop_units", "stop"),
    ("speed", "words_per_minute", "words a minute"),
    ("speed", "ripple_percent", "ripple"),
    ("distortion", "gross_percent", "gross distortion"),
    ("distortion", "marking_bias_percent", "marking bias"),
    ("distortion", "end_percent", "end distortion"),
)
FEED_FACTS: tuple[tuple[str, str], ...] = (
    ("pitch_mm", "feed pitch"),
    ("scatter_mm", "scatter"),
    ("worst_cumulative_mm", "worst added up"),
    ("diameter_mm", "feed hole"),
)


def line_figures(chosen: Chosen, phase: str) -> LineFigures | None:
    """Return the figures of a line document, None when there is none."""
    evidence = chosen.evidence
    if evidence is None:
        return None
    result = evidence.result
    speed = mapping(result.get("speed"))
    facts = [(word, spoken(r)) for part, key, word in LINE_FACTS if (r := reading(mapping(result.get(part)).get(key)))]
    if truth(speed.get("proven")) is False:
        facts.append(("speed", f"not proven: {words(speed.get('why')) or 'no reason on record'}"))
    return LineFigures(
        phase,
        chosen.said,
        file_name(evidence),
        evidence.entry.number,
        tuple(facts),
        tuple(_contact(c) for c in mappings(result.get("contacts"))),
        _units(result),
        _histogram(mapping(mapping(result.get("distortion")).get("histogram"))),
        _receiver(result),
    )


def file_name(evidence: Evidence) -> str:
    """Return the name, without folders, of the file a result document was made from; empty when it does not say."""
    return words(mapping(evidence.result.get("source")).get("file")).replace("\\", "/").rpartition("/")[2]


def _contact(contact: Mapping[str, Any]) -> ContactFigures:
    closing, opening = (reading(contact.get(key)) for key in ("closing_late_ms", "opening_late_ms"))
    return ContactFigures(words(contact.get("contact")), closing, opening)


def _units(result: Mapping[str, Any]) -> tuple[tuple[float, float], ...]:
    pairs = [
        (number(c.get("start_s")), number(mapping(c.get("unit_ms")).get("value")))
        for c in mappings(result.get("characters"))
    ]
    return tuple((start, unit) for start, unit in pairs if start is not None and unit is not None)


def _histogram(histogram: Mapping[str, Any]) -> tuple[float, tuple[int, ...]] | None:
    first = number(histogram.get("from_percent"))
    counts = tuple(count(n) or 0 for n in each(histogram.get("counts")))
    return (first, counts) if first is not None and counts else None


def _receiver(result: Mapping[str, Any]) -> tuple[tuple[int, float, float], ...]:
    out = []
    for one in mappings(mapping(result.get("receiver")).get("per_element")):
        element, low, high = (number(one.get(k)) for k in ("element", "orientation_low", "orientation_high"))
        if element is not None and low is not None and high is not None:
            out.append((int(element), low, high))
    return tuple(out)


def tape_figures(chosen: Chosen, phase: str) -> TapeFigures | None:
    """Return the figures of a tape document, of its first strip; None when there is none."""
    evidence = chosen.evidence
    if evidence is None:
        return None
    strips = mappings(evidence.result.get("strips"))
    strip = strips[0] if strips else {}
    feed = mapping(strip.get("feed"))
    facts = [(word, spoken(r)) for key, word in FEED_FACTS if (r := reading(feed.get(key)))]
    if len(strips) > 1:
        facts.append(("strips", f"{len(strips)}; the figures are those of the first"))
    tracks = tuple(
        Track(track, count(t.get("punched")) or 0, count(t.get("partial")) or 0)
        for t in mappings(strip.get("tracks"))
        if (track := count(t.get("track"))) is not None
    )
    px_per_mm = number(mapping(mapping(evidence.result.get("scale")).get("px_per_mm")).get("value"))
    rows = _rows(strip, px_per_mm)
    return TapeFigures(
        phase,
        chosen.said,
        file_name(evidence),
        evidence.entry.number,
        tuple(facts),
        words(strip.get("text")),
        len(rows),
        tracks,
        reading(feed.get("pitch_mm")),
        rows,
    )


def _rows(strip: Mapping[str, Any], px_per_mm: float | None) -> tuple[TapeRow, ...]:
    """Return the rows with the way along the tape from the first one; none without a scale."""
    if not px_per_mm:
        return ()
    out: list[TapeRow] = []
    first: tuple[float, float] | None = None
    for row in mappings(strip.get("rows")):
        x, y, code = number(row.get("x_px")), number(row.get("y_px")), words(row.get("code"))
        if x is None or y is None or len(code) != 5:
            continue
        first = first or (x, y)
        along = ((x - first[0]) ** 2 + (y - first[1]) ** 2) ** 0.5 / px_per_mm
        holes = mappings(row.get("holes"))
        partial = tuple(count(h.get("track")) or 0 for h in holes if h.get("state") == "partial")
        out.append(TapeRow(code, partial, along))
    return tuple(out)
