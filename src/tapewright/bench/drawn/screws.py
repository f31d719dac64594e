"""A screw's turn as a clock face: twelve is where the slot points now, the hand shows where it is to point.

      12 (now)
    .---|---.
    |   |   |
    |   o---|  3    + 0.25 turn: clockwise, a quarter turn, 90 degrees
    |       |
    '-------'

Whole turns leave the hand where it is; only the words tell them.
"""

import math

CENTRE, HEAD, AROUND = 70.0, 44.0, 56.0
TIP = 9.0
#: units in which a knob counts turns -> degrees in one
DEGREES = {"turn": 360.0, "turns": 360.0, "degree": 1.0, "degrees": 1.0, "deg": 1.0}
PARTS = {45: "an eighth of a turn", 90: "a quarter turn", 180: "half a turn", 270: "three quarters of a turn"}
NEAR = 3.0


def turn(knob: str, unit: str, amount: float, stands: float) -> dict[str, object]:
    """Return a move in words and as places in a drawing of 140 by 140; without a drawing when the knob is no screw.

    Args:
        knob: as the trials call it.
        unit: of the amount.
        amount: how far to turn, in `unit`; + is clockwise.
        stands: where it stands now, in `unit`.
    """
    told = {"knob": knob, "unit": unit, "amount": amount, "from": stands, "to": round(stands + amount, 6)}
    if unit.lower() not in DEGREES:
        way = "up" if amount > 0 else "down"
        return told | {"degrees": None, "says": f"{way} by {abs(amount):.3g} {unit}", "arc": "", "tip": "", "hand": ""}
    degrees = round(amount * DEGREES[unit.lower()], 1)
    return told | {"degrees": degrees, "says": in_words(degrees)} | _arc(degrees)


def in_words(degrees: float) -> str:
    """Say a turn: which way, how far, and as the minute hand of a clock would go."""
    way = "clockwise" if degrees > 0 else "anticlockwise"
    whole, rest = divmod(abs(degrees), 360)
    turns = [f"{whole:.0f} whole turn{'s' if whole > 1 else ''}"] if whole else []
    part = next((words for full, words in PARTS.items() if abs(rest - full) <= NEAR), "")
    more = [f"{rest:.0f}°" + (f", about {part}" if part else "")] if rest >= 0.5 else []
    clock = f"; the minute hand goes so far in {rest / 6:.0f} min" if rest >= NEAR and not part else ""
    return f"{way} by {' and '.join(turns + more) or '0°'}{clock}"


def _arc(degrees: float) -> dict[str, str]:
    """Return the arrow around the head: from twelve by what is left of whole turns."""
    rest = math.copysign(abs(degrees) % 360, degrees)
    x, y = _at(rest, AROUND)
    large, clockwise = int(abs(rest) > 180), int(rest > 0)
    # the arrow's head: two short lines back from its end, one to each side of the arc
    back = rest - math.copysign(min(TIP, abs(rest) / 2), rest)
    (ax, ay), (bx, by) = _at(back, AROUND - 6), _at(back, AROUND + 6)
    hx, hy = _at(rest, HEAD)
    return {
        "arc": f"M{CENTRE:.1f} {CENTRE - AROUND:.1f}A{AROUND:.0f} {AROUND:.0f} 0 {large} {clockwise} {x:.1f} {y:.1f}",
        "tip": f"M{ax:.1f} {ay:.1f}L{x:.1f} {y:.1f}L{bx:.1f} {by:.1f}",
        "hand": f"M{CENTRE:.1f} {CENTRE:.1f}L{hx:.1f} {hy:.1f}",
    }


def _at(degrees: float, radius: float) -> tuple[float, float]:
    """Return a place on the face; 0 is twelve, 90 is three."""
    angle = math.radians(degrees)
    return CENTRE + radius * math.sin(angle), CENTRE - radius * math.cos(angle)
