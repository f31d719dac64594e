r"""The two rulers of each contact: how late it closes, how late it opens, with doubt and limit.

Picture:

    contact 3   closes   |////|        0   .:.   |--o--|    |////|     + 1.46 ms  ± 0.07
                         limit             cloud  mean 2u   limit
"""

from collections.abc import Mapping, Sequence
from typing import Any

from tapewright.bench.drawn.axis import Axis
from tapewright.bench.words import value
from tapewright.number.reading import COVERAGE_FACTOR

Contact = Mapping[str, Any]
SIDES = {"closing": "closes", "opening": "opens"}
#: The axis reaches at least so far, so that a good machine does not look a bad one; and a little past what is on it.
LEAST_REACH_MS, ROOM = 0.5, 1.25
#: Beyond its doubt by this much: as the sentence about the capture has it.
CLEARLY = 2.0


def rulers(result: Mapping[str, Any]) -> dict[str, Any] | None:
    """Return all rulers on one axis; None where no contact is known."""
    rows = [_row(contact, side, result["verdicts"]) for contact in result["contacts"] for side in SIDES]
    known = [row for row in rows if row["late"] is not None]
    if not known:
        return None
    ends = [abs(row["late"]["value"]) + COVERAGE_FACTOR * (row["late"]["u"] or 0.0) for row in known]
    ends += [abs(end) for row in rows if row["limit"] for end in (row["limit"]["low"], row["limit"]["high"]) if end]
    reach = ROOM * max([LEAST_REACH_MS / ROOM, *ends])
    axis = Axis(-reach, reach)
    return {"reach_ms": reach, "ticks": axis.ticks(), "rows": [row | _places(row, axis) for row in rows]}


def _row(contact: Contact, side: str, verdicts: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    late, name = contact[f"{side}_late_ms"], str(contact["contact"])
    judged = [v for v in verdicts if v["check"] in (f"contact {name} {side}", "contact lateness")]
    clear = late is not None and late["u"] is not None and abs(late["value"]) > CLEARLY * COVERAGE_FACTOR * late["u"]
    return {
        "contact": name, "side": side, "does": SIDES[side],
        "called": f"contact {name}" if name.isdecimal() else f"the {name} contact",
        "late": late, "way": _way(late),
        "is_off": clear and contact.get("probability_off", 1.0) > 0.5,
        "seen": contact.get(f"{side}_seen"), "why": _why_not(contact, side, late),
        "bounce_ms": contact.get("bounce_ms") if side == "closing" else None,
        "limit": judged[0] if judged else None,
    }  # fmt: skip


def _way(late: Mapping[str, Any] | None) -> str:
    """Say which way; nothing for what is written as 0.00 ms."""
    if late is None or not float(value(late).split()[0]):
        return ""
    return "late" if late["value"] > 0 else "early"


def _why_not(contact: Contact, side: str, late: Mapping[str, Any] | None) -> str:
    """Say why there is no figure. The notes come in the order closing, opening, for those that have none."""
    notes = list(contact.get("notes", ()))
    if late is not None or not notes:
        return ""
    return str(notes[-1] if side == "opening" else notes[0])


def _places(row: Mapping[str, Any], axis: Axis) -> dict[str, Any]:
    late, limit = row["late"], row["limit"]
    out: dict[str, Any] = {"at": None, "from": None, "to": None, "limit_low": None, "limit_high": None}
    if late is not None:
        spread = COVERAGE_FACTOR * (late["u"] or 0.0)
        ends = (late["value"], late["value"] - spread, late["value"] + spread)
        out |= dict(zip(("at", "from", "to"), map(axis.place, ends), strict=True))
    if limit:
        out |= {f"limit_{end}": None if limit[end] is None else axis.place(limit[end]) for end in ("low", "high")}
    return out
