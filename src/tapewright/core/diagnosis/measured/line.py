"""What a line document shows. Marks from which on something counts as found: common practice, no source."""

import statistics
from collections.abc import Callable, Mapping
from typing import Any

from tapewright.core.diagnosis.evidence import Answer, no
from tapewright.core.diagnosis.measured.fields import Figure, at, figure, figure_of, number, tables
from tapewright.core.diagnosis.measured.ratio import ratio_of
from tapewright.core.diagnosis.measured.strength import beyond, weighed

Document = Mapping[str, Any]
Rule = Callable[[str, Document], Answer | None]

#: Nothing timed by the unit counts before the unit is known.
PROOF = "speed.unit_ms"
#: Percent of a unit.
WIDTH_PERCENT, SHIFT_PERCENT, GROWTH_PERCENT, PERIOD_PERCENT = 5.0, 4.0, 4.0, 1.0
BOUNCE_MS, DROPOUT_SHARE = 1.0, 0.01
FEWEST_CHARACTERS = 20


def unit_is_known(document: Document) -> bool:
    """Say whether the speed is measured and not called unproven: else nothing timed by it may be judged."""
    return figure(document, PROOF) is not None and at(document, "speed.proven") is not False


def speed_ratio(finding: str, document: Document) -> Answer | None:
    """Speed off by an exact ratio."""
    error = figure(document, "speed.error_percent")
    return None if error is None else ratio_of(finding, error)


def period_jumps(finding: str, document: Document) -> Answer | None:
    """The unit, measured character by character, jumps."""
    found = [figure_of(c.get("unit_ms")) for c in tables(document, "characters")]
    units = [f for f in found if f is not None]
    if len(units) < FEWEST_CHARACTERS:
        return None
    middle = statistics.median(f.value for f in units)
    if middle <= 0:
        return None
    spread = statistics.pstdev([f.value for f in units]) / middle * 100.0
    doubt = statistics.fmean(f.u or 0.0 for f in units) / middle * 100.0
    own = max(0.0, spread**2 - doubt**2) ** 0.5
    seen = Figure(own, max(doubt, own / (2 * len(units)) ** 0.5, 0.05), "percent")
    return beyond(finding, seen, PERIOD_PERCENT, f"unit from character to character varies by {seen}", above=True)


def lateness_grows(finding: str, document: Document) -> Answer | None:
    """Gross distortion far above synchronous: the difference is speed."""
    gross = figure(document, "distortion.gross_percent")
    synchronous = figure(document, "distortion.synchronous_percent")
    if gross is None or synchronous is None:
        return None
    u = ((gross.u or 0.5) ** 2 + (synchronous.u or 0.5) ** 2) ** 0.5
    growth = Figure(gross.value - synchronous.value, u, "percent of a unit")
    return beyond(finding, growth, GROWTH_PERCENT, f"gross less synchronous distortion {growth}", above=True)


def one_mark_short(finding: str, document: Document) -> Answer | None:
    """One contact closes late and opens early."""
    return _contact(finding, document, lambda width, shift: (-width, abs(shift) < 0.5 * abs(width)), WIDTH_PERCENT)


def one_mark_long(finding: str, document: Document) -> Answer | None:
    """One contact closes early and opens late."""
    return _contact(finding, document, lambda width, shift: (width, abs(shift) < 0.5 * abs(width)), WIDTH_PERCENT)


def one_element_displaced(finding: str, document: Document) -> Answer | None:
    """One contact closes and opens late (or early) alike."""
    return _contact(finding, document, lambda width, shift: (abs(shift), abs(shift) >= 0.5 * abs(width)), SHIFT_PERCENT)


def _contact(
    finding: str, document: Document, judge: Callable[[float, float], tuple[float, bool]], mark: float
) -> Answer | None:
    """Judge each contact's width and shift against the middle of all; the worst that fits counts."""
    unit = figure(document, PROOF)
    shapes = _shapes(document)
    if unit is None or unit.value <= 0 or len(shapes) < 3:
        return None
    middle_width = statistics.median(shape[1] for shape in shapes)
    middle_shift = statistics.median(shape[2] for shape in shapes)
    worst: tuple[float, float, str] | None = None
    for name, width, shift, u in shapes:
        size, fits = judge(width - middle_width, shift - middle_shift)
        if fits and (worst is None or size > worst[0]):
            worst = (size, u, name)
    if worst is None:
        return no(finding, "no contact differs so from the others")
    seen = Figure(worst[0] / unit.value * 100.0, max(worst[1] / unit.value * 100.0, 0.2), "percent of a unit")
    return beyond(finding, seen, mark, f"contact {worst[2]} differs by {seen}", above=True, at=f"contact {worst[2]}")


def _shapes(document: Document) -> list[tuple[str, float, float, float]]:
    """Name, change of width, shift of the middle and uncertainty of each contact seen both ways, in ms."""
    out = []
    for contact in tables(document, "contacts"):
        closing, opening = figure_of(contact.get("closing_late_ms")), figure_of(contact.get("opening_late_ms"))
        if closing is None or opening is None or str(contact.get("contact")) not in "12345":
            continue
        u = ((closing.u or 0.1) ** 2 + (opening.u or 0.1) ** 2) ** 0.5
        out.append((str(contact["contact"]), opening.value - closing.value, (opening.value + closing.value) / 2, u))
    return out


def bounces(finding: str, document: Document) -> Answer | None:
    """A contact bounces as a rule, not once."""
    medians = [(number(at(c, "bounce_ms.median")), str(c.get("contact"))) for c in tables(document, "contacts")]
    seen = [(value, name) for value, name in medians if value is not None]
    if not seen:
        return None
    worst, name = max(seen)
    how = f"contact {name} bounces {worst:.2g} ms as a rule"
    return beyond(finding, Figure(worst, 0.15, "ms"), BOUNCE_MS, how, above=True, at=f"contact {name}")


def dropouts(finding: str, document: Document) -> Answer | None:
    """Marks are broken."""
    contacts = tables(document, "contacts")
    counts = [(number(c.get("dropouts")), str(c.get("contact"))) for c in contacts]
    seen = [(count, name) for count, name in counts if count is not None]
    characters = len(tables(document, "characters"))
    if not seen or characters < FEWEST_CHARACTERS:
        return None
    most, name = max(seen)
    share = most / characters
    how = f"{most:g} dropouts in contact {name} over {characters} characters"
    u = max(most, 1.0) ** 0.5 / characters
    return beyond(finding, Figure(share, u, ""), DROPOUT_SHARE, how, above=True, at=f"contact {name}" if most else "")


def suspicion(finding: str, document: Document, words: list[str]) -> Answer | None:
    """The instrument itself is suspected, by the reader of the line."""
    entries = at(document, "instrument")
    if not isinstance(entries, list):
        return None
    for entry in tables(document, "instrument"):
        text = str(entry.get("suspicion", ""))
        if any(word in text.lower() for word in words):
            return weighed(finding, 0.95, f"the reading suspects: {text}")
    return weighed(finding, 0.1, "the reading of the line suspects nothing of the kind")


RULES: dict[str, Rule] = {
    "speed off by a ratio": speed_ratio,
    "character period jumps": period_jumps,
    "lateness grows through the character": lateness_grows,
    "one mark short": one_mark_short,
    "one mark long": one_mark_long,
    "one element displaced": one_element_displaced,
    "a contact bounces": bounces,
    "marks have dropouts": dropouts,
}
