r"""How one contact's two edges are off, told by the direction of its two errors.

Picture (each contact's closing and opening error, less the middle of all contacts'):

                     opens late
          mark long      |      displaced
                     \   |   /
    closes early ------- o ------- closes late       eight directions, 45 degrees apart: on a diagonal the
                     /   |   \                       mark is short, long or displaced; on an axis only one
           displaced     |      mark short           edge is off, and the mark is both displaced and of
                     opens early                     another width

A contact counts as off by the distance from the middle; how it is off, by the nearest direction, both with the
doubt of the figures. One edge alone speaks neither for nor against a changed width or a displaced mark: it is a
finding of its own. Contact 5 opens into the stop, which is mark; unless the two split, its closing alone is judged.
Marks from which on something counts: common practice, no source.
"""

import math
import statistics
from collections.abc import Mapping
from dataclasses import dataclass

from tapewright.advisor.evidence import Answer, cannot_say
from tapewright.advisor.measured.fields import Document, Figure, figure_of, phi, tables, weighed

#: Percent of a unit from which on a contact is off, and how surely anybody knows that mark.
OFF_PERCENT, MARK_KNOWN_TO = 3.5, 0.7
#: Standard uncertainty of a contact's figure that states none, in ms.
UNSTATED_MS = 0.1
FEWEST_CONTACTS = 3
#: A real contact never lies exactly on a direction, in degrees.
SCATTER_OF_DIRECTION = 6.0
#: Chances this near to one half are taken as saying neither yes nor no.
NEITHER = 0.05

SHORT, LONG, DISPLACED, EDGE_SHORT, EDGE_LONG = "short", "long", "displaced", "one edge, short", "one edge, long"
#: direction of (closing error, opening error) in degrees, and what it means
DIRECTIONS = {
    0: EDGE_SHORT, 45: DISPLACED, 90: EDGE_LONG, 135: LONG, 180: EDGE_LONG, 225: DISPLACED, 270: EDGE_SHORT, 315: SHORT
}  # fmt: skip
#: how much of each way of being off a finding takes as its own; one half says neither yes nor no
SHARES: Mapping[str, Mapping[str, float]] = {
    "one mark short": {SHORT: 1.0, EDGE_SHORT: 0.5},
    "one mark long": {LONG: 1.0, EDGE_LONG: 0.5},
    "one element displaced": {DISPLACED: 1.0, EDGE_SHORT: 0.5, EDGE_LONG: 0.5},
    "one edge displaced": {EDGE_SHORT: 1.0, EDGE_LONG: 1.0},
}


@dataclass(frozen=True, slots=True)
class Edges:
    """One contact against the middle of all, in ms; opening None where it is never seen."""

    name: str
    closing: float
    opening: float | None
    u: float

    @property
    def distance(self) -> float:
        """How far it is off, both edges taken together, in ms."""
        return math.hypot(self.closing, self.opening or 0.0)

    @property
    def ways(self) -> dict[str, float]:
        """Chance of each way of being off, one for all together."""
        if self.opening is None:
            return {EDGE_SHORT if self.closing > 0 else EDGE_LONG: 1.0}
        at = math.degrees(math.atan2(self.opening, self.closing))
        spread = math.hypot(SCATTER_OF_DIRECTION, math.degrees(min(1.0, self.u / max(self.distance, 1e-9))))
        out: dict[str, float] = {}
        for direction, way in DIRECTIONS.items():
            apart = (at - direction + 180.0) % 360.0 - 180.0
            chance = phi((apart + 22.5) / spread) - phi((apart - 22.5) / spread)
            out[way] = out.get(way, 0.0) + chance
        whole = sum(out.values())
        return {way: chance / whole for way, chance in out.items()}


def judge_contacts(finding: str, document: Document, rule: str, unit_ms: float) -> Answer | None:
    """Answer one of the rules in SHARES by the contact that fits it best; None where too few are measured."""
    contacts = _against_the_middle(document)
    if len(contacts) < FEWEST_CONTACTS or unit_ms <= 0:
        return None
    chances = [(_chance(contact, SHARES[rule], unit_ms), contact) for contact in contacts]
    chance, worst = max(chances, key=lambda found: found[0])
    too = [contact for other, contact in chances if other > 0.5 + NEITHER and contact is not worst]
    if chance < 0.5 - NEITHER:
        worst = max(contacts, key=lambda contact: contact.distance)
    how = f"contact {worst.name} is off by {_percent(worst, unit_ms)}"
    if abs(chance - 0.5) <= NEITHER:
        return cannot_say(finding, f"{how}, at one edge")
    how = "; ".join([how, *(f"contact {each.name} by {_percent(each, unit_ms)}" for each in too)])
    at = ", ".join(f"contact {each.name}" for each in sorted([worst, *too], key=lambda each: each.name))
    return weighed(finding, chance, how, at=at if chance > 0.5 else "")


def _chance(contact: Edges, shares: Mapping[str, float], unit_ms: float) -> float:
    distance, u = (100.0 * length / unit_ms for length in (contact.distance, contact.u))
    off = phi((distance - OFF_PERCENT) / math.hypot(u, MARK_KNOWN_TO))
    return off * sum(shares.get(way, 0.0) * chance for way, chance in contact.ways.items())


def _percent(contact: Edges, unit_ms: float) -> str:
    return str(Figure(100.0 * contact.distance / unit_ms, max(100.0 * contact.u / unit_ms, 0.2), "percent of a unit"))


def _against_the_middle(document: Document) -> list[Edges]:
    found = []
    for contact in tables(document, "contacts"):
        closing, opening = figure_of(contact.get("closing_late_ms")), figure_of(contact.get("opening_late_ms"))
        if closing is not None and str(contact.get("contact")) in "12345":
            found.append((str(contact["contact"]), closing, opening))
    if not found:
        return []
    closes = statistics.median(closing.value for _, closing, _ in found)
    opens = statistics.median([opening.value for _, _, opening in found if opening is not None] or [0.0])
    return [
        Edges(name, closing.value - closes, None if opening is None else opening.value - opens,
              max(_u(closing), 0.0 if opening is None else _u(opening)))
        for name, closing, opening in found
    ]  # fmt: skip


def _u(figure: Figure) -> float:
    return UNSTATED_MS if figure.u is None else figure.u
