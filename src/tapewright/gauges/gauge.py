"""Gauges, and the doubt each brings when nothing better is stated.

Every default below is common practice, no source; a sheet or a reading that states its own doubt replaces it.
"""

from dataclasses import dataclass

from tapewright.gauges.doubt import combined, rectangular, resolution
from tapewright.gauges.units import factor_between


@dataclass(frozen=True, slots=True)
class GaugeKind:
    """What is known of a kind of gauge.

    Attributes:
        name: what a mechanic calls it.
        unit: unit of `step` and `limit_of_error`; the share has none.
        step: smallest division.
        limit_of_error: half-width of the maker's tolerance, taken as rectangular.
        share: half-width of an error proportional to the reading (friction), taken as rectangular.
        feel: standard uncertainty of the hand, in `unit`.
    """

    name: str
    unit: str
    step: float
    limit_of_error: float = 0.0
    share: float = 0.0
    feel: float = 0.0

    def u(self, value: float, unit: str) -> float:
        """Standard uncertainty, in `unit`, of one reading of `value` in `unit`."""
        parts = (resolution(self.step), rectangular(self.limit_of_error), self.feel)
        return combined([combined(parts) * factor_between(self.unit, unit), rectangular(self.share * abs(value))])


#: what a sheet may name. Common practice, no source.
GAUGES: dict[str, GaugeKind] = {
    "leaf": GaugeKind("leaf gauge", "mm", 0.0, limit_of_error=0.005, feel=0.005),
    "wire": GaugeKind("wire gauge", "mm", 0.0, limit_of_error=0.005, feel=0.005),
    "caliper": GaugeKind("vernier caliper", "mm", 0.02, limit_of_error=0.03, feel=0.01),
    "rule": GaugeKind("steel rule", "mm", 0.5, limit_of_error=0.1, feel=0.1),
    "dial": GaugeKind("dial indicator", "mm", 0.01, limit_of_error=0.01, feel=0.002),
    "micrometer": GaugeKind("micrometer", "mm", 0.01, limit_of_error=0.004, feel=0.002),
    "fine dial": GaugeKind("lever dial indicator reading 0.002 mm", "mm", 0.002, limit_of_error=0.002, feel=0.001),
    "spring balance": GaugeKind("spring balance", "g", 2.0, share=0.04, feel=1.0),
    "fine spring balance": GaugeKind("fine gram gauge", "g", 0.5, share=0.02, feel=0.3),
    "protractor": GaugeKind("degree wheel", "deg", 1.0, feel=0.5),
    "counter": GaugeKind("counting", "count", 0.0),
    "strobe": GaugeKind("stroboscope", "rpm", 0.0, share=0.002, feel=0.5),
    "meter": GaugeKind("panel meter", "V", 1.0, share=0.015),
    "line": GaugeKind("the line signal, timed", "ms", 0.0, share=0.0002, feel=0.005),
    "eye": GaugeKind("eye", "yes", 0.0),
}


def leaf_stack_u(leaves_mm: tuple[float, ...], leaf_u_mm: float | None = None) -> float:
    """Standard uncertainty, mm, of a stack of leaves: each leaf's own doubt, and the feel once.

    Leaves of one set are taken as made independently of each other, so their doubts add in squares.
    """
    leaf = GAUGES["leaf"]
    one = rectangular(leaf.limit_of_error) if leaf_u_mm is None else leaf_u_mm
    return combined([*(one for _ in leaves_mm), leaf.feel])
