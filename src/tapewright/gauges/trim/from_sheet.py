"""A reading for trim from a requirement of the machine's sheet: limits, doubt and cautions.

What is turned is set to the tighter limits (readjust) where the sheet has them. A doubt that nobody stated is taken
from the kind of gauge, and it is said so.
"""

from dataclasses import replace

from tapewright.errors import InputError
from tapewright.gauges.cautions import cautions_before
from tapewright.gauges.gauge import GAUGES, factor_between
from tapewright.gauges.requirement import Requirement
from tapewright.gauges.trim.problem import Target


def target_of(r: Requirement, name: str = "") -> Target:
    """Return the reading that trim brings inside the limits of a requirement."""
    ends = r.readjust or r.test
    bare = Target(name or r.what, r.unit, ends.low, ends.high, r.gauge_u, source=r.source, cautions=cautions_before(r))
    return with_gauge(bare, r.gauge)


def in_unit(target: Target, unit: str) -> Target:
    """Return the reading in another unit of the same family, for example thou for mm."""
    factor = factor_between(target.unit, unit)
    low, high, u = (None if x is None else x * factor for x in (target.low, target.high, target.u))
    return replace(target, unit=unit, low=low, high=high, u=u)


def with_gauge(target: Target, gauge: str) -> Target:
    """Return the reading with the doubt of this kind of gauge, when it has none of its own; `gauge` may be empty."""
    if target.u is not None or gauge not in GAUGES:
        return target
    ends = [end for end in (target.low, target.high) if end is not None]
    try:
        u = GAUGES[gauge].u(sum(ends) / len(ends), target.unit) if ends else 0.0
    except (InputError, KeyError, ValueError):
        return target  # a gauge of another kind of quantity: nothing is known of it
    if not u > 0:
        return target
    said = f"No doubt is stated for {target.name}; u {u:.2g} {target.unit} was taken from the kind of gauge, "
    return replace(target, u=u, assumed=f"{said}{GAUGES[gauge].name} (common practice, no source).")
