r"""Which finer gauge would settle a "not shown".

Picture (m = room from the value to the nearest end; a gauge whose U = 2u fits into m settles it):

           low |----[------x---]---|-------| high        U too wide: not shown
                           x<- m ->|
               |---------[-x-]-----|                     U <= m: shown, if the value stays where it is
"""

from dataclasses import dataclass

from tapewright.gauges.evidence import Evidence, Interval
from tapewright.gauges.gauge import GAUGES
from tapewright.gauges.units import UNITS
from tapewright.number import Verdict
from tapewright.number.reading import COVERAGE_FACTOR


@dataclass(frozen=True, slots=True)
class Settle:
    """What would settle it.

    Attributes:
        u_needed: standard uncertainty that would do, in the limit's unit; None when no number can be given.
        gauge: key of the coarsest known gauge that does, None when none of ours does.
        how: in a sentence.
    """

    u_needed: float | None
    gauge: str | None
    how: str


def settle(verdict: Verdict, found: Evidence | None) -> Settle | None:
    """Say what would settle a verdict that is not shown; None when no gauge would (nothing measured, or by eye)."""
    limit = verdict.limit
    ends = [end for end in (limit.low, limit.high) if end is not None]
    if found is None or (verdict.value is None and not isinstance(found, Interval)) or limit.unit == "yes":
        return None
    if isinstance(found, Interval):
        inside = [end for end in ends if found.low < end < found.high or end in (found.low, found.high)]
        named = " and ".join(f"{end:g} {limit.unit}" for end in inside if end) or "the ends of the limit"
        exactly = f"Try a gauge of exactly {named}: whether it goes or not settles it."
        if 0.0 not in inside:
            return Settle(None, None, exactly)
        touching = "See that it does not touch: the thinnest leaf must go; give it with the gauge that does not."
        return Settle(None, None, touching if inside == [0.0] else f"{touching} {exactly}")
    value = verdict.value
    if value is None:
        return None
    room = min(abs(value - end) for end in ends)
    if room == 0:
        return Settle(
            None, None, "The value lies on the end of the limit: no gauge settles that; set it nearer the middle."
        )
    needed = room / COVERAGE_FACTOR
    gauge = coarsest_gauge(value, needed, limit.unit)
    name = GAUGES[gauge].name if gauge else "a gauge finer than any in our table"
    return Settle(
        needed, gauge, f"Needs a gauge good to ± {room:.2g} {limit.unit} (two standard uncertainties): {name}."
    )


def coarsest_gauge(value: float, u_needed: float, unit: str) -> str | None:
    """Return the known gauge with the largest doubt that is still small enough."""
    family = UNITS[unit].family
    fit = {
        key: gauge.u(value, unit)
        for key, gauge in GAUGES.items()
        if UNITS[gauge.unit].family == family and gauge.u(value, unit) <= u_needed
    }
    return max(fit, key=fit.__getitem__) if fit else None
