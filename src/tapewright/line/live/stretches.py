r"""Before and after: two stretches of a watch, on either side of a turn of a screw.

Picture (t = "turned screw B a quarter"; what was keyed while the screw was being turned belongs to neither):

    characters   ooooooooooooo        ooooooooooooooo
                 |--before---| t . . t |---after----|
    contact 3          1.52                0.31          change -1.21 +/- 0.05 ms: shown

A change is shown when it is larger than its expanded uncertainty: |after - before| > 2 sqrt(u_before^2 + u_after^2)
(two independent means; propagation of uncertainty, JCGM 100:2008, 5.1.2).
"""

import math
from dataclasses import dataclass

from tapewright.line.document import LineResult
from tapewright.number import Reading, missing


@dataclass(frozen=True, slots=True)
class Change:
    """What one figure did.

    Attributes:
        what: for example "contact 3 closing".
        before: as it was.
        after: as it is.
        change: after less before.
        shown: True when the change is larger than its doubt.
    """

    what: str
    before: Reading
    after: Reading
    change: Reading
    shown: bool


def compare_stretches(before: LineResult, after: LineResult) -> tuple[Change, ...]:
    """Compare all figures that both stretches have, those that are shown to have changed first."""
    pairs = [
        ("unit", before.speed.unit_ms, after.speed.unit_ms),
        ("marking bias", before.distortion.marking_bias_percent, after.distortion.marking_bias_percent),
        ("end distortion", before.distortion.end_percent, after.distortion.end_percent),
    ]
    then = {contact.contact: contact for contact in before.contacts}
    for now in after.contacts:
        was = then.get(now.contact)
        if was is not None:
            name = "stop contact" if now.contact == "stop" else f"contact {now.contact}"
            pairs.append((f"{name} closing", was.closing_late_ms, now.closing_late_ms))
            pairs.append((f"{name} opening", was.opening_late_ms, now.opening_late_ms))
    changes = [_change(*pair) for pair in pairs if pair[1].value is not None and pair[2].value is not None]
    return tuple(sorted(changes, key=lambda c: not c.shown))


def _change(what: str, before: Reading, after: Reading) -> Change:
    assert before.value is not None
    assert after.value is not None
    if before.u is None or after.u is None:
        return Change(what, before, after, missing(before.unit, "the doubt of one of them is not known"), False)
    by = Reading(after.value - before.value, math.hypot(before.u, after.u), before.unit)
    return Change(what, before, after, by, abs(after.value - before.value) > (by.expanded or 0.0))
