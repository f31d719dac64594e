"""What a line document shows. Marks from which on something counts as found: common practice, no source."""

import math
import re
import statistics

from tapewright.advisor.evidence import Answer, yes
from tapewright.advisor.measured.contact_edges import SHARES, judge_contacts
from tapewright.advisor.measured.fields import (
    Document,
    Figure,
    Rule,
    at,
    beyond,
    figure,
    figure_of,
    number,
    tables,
    weighed,
)
from tapewright.advisor.measured.instruments import MAINS, ratio_of

#: Nothing timed by the unit counts before the unit is known.
PROOF = "speed.unit_ms"
#: Percent of a unit.
GROWTH_PERCENT, PERIOD_PERCENT = 4.0, 1.0
DROPOUT_SHARE = 0.01
#: A governor hunts more slowly than this; what swings faster goes with a turn.
GOES_WITH_A_TURN_HZ = 6.0
HUNTS_PERCENT, MOVED_PERCENT = 0.7, 3.0
#: Cam-driven line contacts bounce under 1 ms as a rule, and over 2 to 3 ms is worth chasing (common practice, no
#: source): the mark stands between, and is known no better than that.
BOUNCE_MS, BOUNCE_KNOWN_TO_MS = 1.5, 0.3
FEWEST_CHARACTERS = 20


def unit_is_known(document: Document) -> bool:
    """Return whether the speed is measured and not called unproven: else nothing timed by it may be judged."""
    return figure(document, PROOF) is not None and at(document, "speed.proven") is not False


def speed_ratio(finding: str, document: Document) -> Answer | None:
    """Speed off by an exact ratio."""
    error = figure(document, "speed.error_percent")
    return None if error is None else ratio_of(finding, error)


def speed_mains(finding: str, document: Document) -> Answer | None:
    """Speed off by the ratio of 50 and 60 Hz mains."""
    error = figure(document, "speed.error_percent")
    return None if error is None else ratio_of(finding, error, MAINS)


def speed_hunts(finding: str, document: Document) -> Answer | None:
    """A slow swing of the speed."""
    seen, hz = figure(document, "speed.ripple_percent"), number(at(document, "speed.ripple_hz.value"))
    if seen is None or (hz is not None and hz >= GOES_WITH_A_TURN_HZ):
        return None
    return beyond(finding, seen, HUNTS_PERCENT, f"the speed swings by {seen}", above=True)


def speed_swings_with_a_turn(finding: str, document: Document) -> Answer | None:
    """A fast swing, judged by how far it moves instants: half a swing of amplitude a moves them by a / (pi f)."""
    seen, hz = figure(document, "speed.ripple_percent"), number(at(document, "speed.ripple_hz.value"))
    unit = figure(document, PROOF)
    if seen is None or unit is None or hz is None or hz < GOES_WITH_A_TURN_HZ:
        return None
    reach = 1e3 / (math.pi * hz * unit.value)
    moves = Figure(reach * seen.value, None if seen.u is None else reach * seen.u, "percent of a unit")
    how = f"the speed swings {hz:.4g} times a second and moves instants by up to {moves}"
    return beyond(finding, moves, MOVED_PERCENT, how, above=True)


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


def contacts(rule: str) -> Rule:
    """Return the rule that asks how one contact's two edges are off (contact_edges.py has the picture)."""

    def judge(finding: str, document: Document) -> Answer | None:
        unit = figure(document, PROOF)
        return None if unit is None else judge_contacts(finding, document, rule, unit.value)

    return judge


def bounces(finding: str, document: Document) -> Answer | None:
    """A contact bounces as a rule, not once."""
    medians = [(number(at(c, "bounce_ms.median")), str(c.get("contact"))) for c in tables(document, "contacts")]
    seen = [(value, name) for value, name in medians if value is not None]
    if not seen:
        return None
    worst, name = max(seen)
    how = f"contact {name} bounces {worst:.2g} ms as a rule"
    return beyond(finding, Figure(worst, BOUNCE_KNOWN_TO_MS, "ms"), BOUNCE_MS, how, above=True, at=f"contact {name}")


def dropouts(finding: str, document: Document) -> Answer | None:
    """Marks are broken."""
    counts = [(number(c.get("dropouts")), str(c.get("contact"))) for c in tables(document, "contacts")]
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
        if any(re.search(rf"\b{re.escape(word)}", text.lower()) for word in words):
            # that the reading takes the fault out again speaks for it, not against it
            return yes(finding, f"the reading suspects: {text}")
    return weighed(finding, 0.1, "the reading of the line suspects nothing of the kind")


RULES: dict[str, Rule] = {
    "speed off by a ratio": speed_ratio,
    "speed off by mains": speed_mains,
    "speed hunts": speed_hunts,
    "speed swings with a turn": speed_swings_with_a_turn,
    "character period jumps": period_jumps,
    "lateness grows through the character": lateness_grows,
    **{rule: contacts(rule) for rule in SHARES},
    "a contact bounces": bounces,
    "marks have dropouts": dropouts,
}
