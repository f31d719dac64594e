"""Two recordings of the same coil: cold and warm, before and after oiling. Each difference with its doubt."""

import numpy as np

from tapewright.coil.document import Change, Coil
from tapewright.number import Reading, missing
from tapewright.reference.conductors import COPPER_PER_KELVIN


def changes(before: Coil, after: Coil) -> tuple[Change, ...]:
    """Compare two recordings; a temperature from the resistance comes with them."""
    pairs = (
        ("resistance", before.resistance_ohm, after.resistance_ohm),
        ("inductance", before.inductance_h, after.inductance_h),
        ("landing", before.landing_ms, after.landing_ms),
        ("scatter of the landing", before.scatter_ms, after.scatter_ms),
        ("release", before.release_ms, after.release_ms),
    )
    found = [_change(name, one, other) for name, one, other in pairs]
    warmer = _warmer(before.resistance_ohm, after.resistance_ohm)
    nothing = missing("K", "")
    return (*found, _shown("winding warmer by", nothing, nothing, warmer))


def _change(name: str, one: Reading, other: Reading) -> Change:
    if one.value is None or other.value is None or one.u is None or other.u is None:
        return _shown(name, one, other, missing(one.unit, one.how if one.value is None else other.how))
    change = Reading(other.value - one.value, float(np.hypot(one.u, other.u)), one.unit, how="after minus before")
    return _shown(name, one, other, change)


def _shown(name: str, one: Reading, other: Reading, change: Reading) -> Change:
    shown = change.value is not None and change.expanded is not None and abs(change.value) > change.expanded
    return Change(name=name, before=one, after=other, change=change, shown=shown)


def _warmer(one: Reading, other: Reading) -> Reading:
    """Temperature rise from the growth of copper's resistance."""
    if one.value is None or other.value is None or one.u is None or other.u is None:
        return missing("K", one.how if one.value is None else other.how)
    ratio = other.value / one.value
    u = ratio * float(np.hypot(one.u / one.value, other.u / other.value)) / COPPER_PER_KELVIN.value
    return Reading((ratio - 1) / COPPER_PER_KELVIN.value, u, "K", how="copper, from the resistance")
