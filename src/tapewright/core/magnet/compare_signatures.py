"""Two recordings of the same coil: cold and warm, before and after oiling. Each difference with its doubt."""

from dataclasses import dataclass

import numpy as np

from tapewright.core.magnet.signature import Signature
from tapewright.core.measurement import Reading, missing
from tapewright.core.reference.conductors import COPPER_PER_KELVIN


@dataclass(frozen=True, slots=True)
class Change:
    """One figure before and after.

    Attributes:
        name: which.
        before: first recording.
        after: second recording.
        change: after minus before.
        shown: True when the change is larger than its doubt U = 2u.
    """

    name: str
    before: Reading
    after: Reading
    change: Reading
    shown: bool


def changes(before: Signature, after: Signature) -> tuple[Change, ...]:
    """Compare two signatures; a temperature from the resistance comes with them."""
    pairs = (
        ("resistance", before.resistance_ohm, after.resistance_ohm),
        ("inductance", before.inductance_h, after.inductance_h),
        ("landing", before.landing, after.landing),
        ("scatter of the landing", before.scatter, after.scatter),
        ("release", before.release, after.release),
    )
    found = [_change(name, one, other) for name, one, other in pairs]
    warmer = _warmer(before.resistance_ohm, after.resistance_ohm)
    shown = warmer.value is not None and warmer.expanded is not None and abs(warmer.value) > warmer.expanded
    nothing = missing("K", "")
    return (*found, Change("winding warmer by", nothing, nothing, warmer, shown))


def _change(name: str, one: Reading, other: Reading) -> Change:
    if one.value is None or other.value is None or one.u is None or other.u is None:
        why = one.how if one.value is None else other.how
        return Change(name, one, other, missing(one.unit, why), False)
    change = Reading(other.value - one.value, float(np.hypot(one.u, other.u)), one.unit, how="after minus before")
    return Change(name, one, other, change, abs(change.value or 0.0) > (change.expanded or 0.0))


def _warmer(one: Reading, other: Reading) -> Reading:
    """Temperature rise from the growth of copper's resistance."""
    if one.value is None or other.value is None or one.u is None or other.u is None:
        return missing("K", one.how if one.value is None else other.how)
    ratio = other.value / one.value
    u = ratio * float(np.hypot(one.u / one.value, other.u / other.value)) / COPPER_PER_KELVIN.value
    return Reading((ratio - 1) / COPPER_PER_KELVIN.value, u, "K", how="copper, from the resistance")
